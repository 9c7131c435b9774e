/* SPDX-License-Identifier: MIT */
/* Plain words for what the YAML library calls its problems: a table, first match wins. */
#include "tree/yaml_trouble.h"

#include <string.h>

typedef enum where {
    HERE,      /* where the library noticed */
    AT_START,  /* where the structure began */
    HERE_SINCE /* where it was noticed, and the line where the structure began */
} where;

typedef struct explanation {
    const char *problem; /* a part of the library's words */
    const char *found;   /* only when one of these bytes stands there; NULL: any */
    where place;
    const char *words;
} explanation;

static const explanation EXPLANATIONS[] = {
    {"cannot start any token", "\t", HERE, "a tab cannot indent: use blanks"},
    {"cannot start any token", "@`%", HERE,
     "a text cannot begin with this character: put the text in quotes"},
    {"tab character", NULL, HERE, "a tab cannot indent: use blanks"},
    {"mapping values are not allowed", NULL, HERE,
     "a ': ' is not expected here: check indentation and colons (a blank must follow), or put the text in "
     "quotes"},
    {"did not find expected key", NULL, HERE,
     "only the next key is expected here: check indentation, quotes and brackets"},
    {"did not find expected '-' indicator", NULL, HERE,
     "a list item '- ' is expected here: check the indentation of this line"},
    {"did not find expected ',' or ']'", NULL, HERE_SINCE,
     "a ',' or the closing ']' is missing before this place"},
    {"did not find expected ',' or '}'", NULL, HERE_SINCE,
     "a ',' or the closing '}' is missing before this place"},
    {"long key", NULL, AT_START,
     "a key has at most 1024 characters; the one that begins here has more, or is no key and lacks "
     "indentation"},
    {"long line", NULL, HERE,
     "a ': ' is not expected here: a key has at most 1024 characters, and a text with ': ' in it needs "
     "quotes"},
    {"could not find expected ':'", NULL, AT_START,
     "this key has no ': ' after it (a blank must follow the colon)"},
    {"unexpected ':'", NULL, HERE, "put a blank after the colon"},
    {"block sequence entries", NULL, HERE, "a list item '- ' is not expected here: check the indentation"},
    {"mapping keys are not allowed", NULL, HERE, "a key is not expected here: check the indentation"},
    {"did not find expected node content", NULL, HERE, "a key or a value is missing here"},
    {"alphabetic or numeric", NULL, HERE, "a text that begins with '&' or '*' must stand in quotes"},
    {"unexpected end of stream", NULL, AT_START, "this quote is never closed"},
    {"unexpected document indicator", NULL, AT_START, "this quote is never closed"},
    {"unknown escape character", NULL, HERE,
     "unknown escape in a text in double quotes: use single quotes, or \\\\ for a backslash"},
    {"hexdecimal number", NULL, HERE, "an escape such as \\x41 needs its hexadecimal digits"},
    {"invalid Unicode character escape", NULL, HERE, "this escape is no Unicode character"},
    {"tag", NULL, HERE, "tags (!) are not supported: leave the tag out, or put the text in quotes"},
    {"<document start>", NULL, HERE, "this does not belong to what stands before it: check the indentation"},
    {"YAML document", NULL, HERE, "only YAML 1.1 is supported"},
    {"directive", NULL, HERE, "a line that begins with '%' is not supported"},
    {"block scalar", NULL, HERE, "a text that begins with '|' or '>' must stand in quotes"},
    {"indentation indicator", NULL, HERE, "a text that begins with '|' or '>' must stand in quotes"},
    {"comment or line break", NULL, HERE, "a text that begins with '|' or '>' must stand in quotes"},
    {NULL, NULL, HERE, NULL},
};

static bool fits(const explanation *e, const cm_yaml_trouble *trouble)
{
    if (!strstr(trouble->problem, e->problem))
        return false;
    return !e->found || (trouble->found && strchr(e->found, trouble->found));
}

static void report(cm_session *session, const cm_yaml_trouble *trouble, const explanation *e)
{
    bool start_known = trouble->context_place.line > 0;
    if (e->place == HERE_SINCE && start_known)
        cm_report(session, CM_ERROR, &trouble->problem_place, "%s; it was opened in line %d", e->words,
                  trouble->context_place.line);
    else
        cm_report(session, CM_ERROR,
                  e->place == AT_START && start_known ? &trouble->context_place : &trouble->problem_place,
                  "%s", e->words);
}

void cm_yaml_explain(cm_session *session, const cm_yaml_trouble *trouble)
{
    const explanation *e = EXPLANATIONS;
    while (e->problem && !(trouble->problem && fits(e, trouble)))
        e++;
    if (e->problem)
        report(session, trouble, e);
    else
        cm_report(session, CM_ERROR, &trouble->problem_place, "not valid YAML: %s",
                  trouble->problem ? trouble->problem : "no reason is known");
}
