/* SPDX-License-Identifier: MIT */
/* Plain words for what the YAML library calls its problems: a table, first match wins. */
#include "tree/yaml_trouble.h"

#include <string.h>

typedef struct explanation {
    const char *problem;   /* a part of the library's words */
    const char *found;     /* only when one of these bytes stands there; NULL: any */
    bool at_start;         /* the place is where the structure began */
    const char *words;
} explanation;

static const explanation EXPLANATIONS[] = {
    {"cannot start any token", "\t", false, "a tab cannot indent: use blanks"},
    {"cannot start any token", "@`%", false,
     "a text cannot begin with this character: put the text in quotes"},
    {"tab character", NULL, false, "a tab cannot indent: use blanks"},
    {"mapping values are not allowed", NULL, false,
     "a ': ' is not expected here: check the indentation, or put the text in quotes"},
    {"did not find expected key", NULL, false, "a key is expected here: check the indentation of this line"},
    {"did not find expected '-' indicator", NULL, false,
     "a list item '- ' is expected here: check the indentation of this line"},
    {"did not find expected ',' or ']'", NULL, false, "a ',' or the closing ']' is missing before this place"},
    {"did not find expected ',' or '}'", NULL, false, "a ',' or the closing '}' is missing before this place"},
    {"could not find expected ':'", NULL, true, "this key has no ': ' after it (a blank must follow the colon)"},
    {"block sequence entries", NULL, false, "a list item '- ' is not expected here: check the indentation"},
    {"mapping keys are not allowed", NULL, false, "a key is not expected here: check the indentation"},
    {"did not find expected node content", NULL, false, "a key or a value is missing here"},
    {"alphabetic or numeric", NULL, false, "a text that begins with '&' or '*' must stand in quotes"},
    {"unexpected end of stream", NULL, true, "this quote is never closed"},
    {"unexpected document indicator", NULL, true, "this quote is never closed"},
    {"unknown escape character", NULL, false,
     "unknown escape in a text in double quotes: use single quotes, or \\\\ for a backslash"},
    {"hexdecimal number", NULL, false, "an escape such as \\x41 needs its hexadecimal digits"},
    {"invalid Unicode character escape", NULL, false, "this escape is no Unicode character"},
    {"tag", NULL, false, "tags (!) are not supported: leave the tag out, or put the text in quotes"},
    {"<document start>", NULL, false, "this does not belong to what stands before it: check the indentation"},
    {"YAML document", NULL, false, "only YAML 1.1 is supported"},
    {"directive", NULL, false, "a line that begins with '%' is not supported"},
    {"block scalar", NULL, false, "a text that begins with '|' or '>' must stand in quotes"},
    {"indentation indicator", NULL, false, "a text that begins with '|' or '>' must stand in quotes"},
    {"comment or line break", NULL, false, "a text that begins with '|' or '>' must stand in quotes"},
    {NULL, NULL, false, NULL},
};

static bool fits(const explanation *e, const cm_yaml_trouble *trouble)
{
    if (!strstr(trouble->problem, e->problem))
        return false;
    return !e->found || (trouble->found && strchr(e->found, trouble->found));
}

void cm_yaml_explain(cm_session *session, const cm_yaml_trouble *trouble)
{
    for (const explanation *e = EXPLANATIONS; trouble->problem && e->problem; e++) {
        if (!fits(e, trouble))
            continue;
        bool at_start = e->at_start && trouble->context_place.line > 0;
        cm_report(session, CM_ERROR, at_start ? &trouble->context_place : &trouble->problem_place, "%s", e->words);
        return;
    }
    cm_report(session, CM_ERROR, &trouble->problem_place, "not valid YAML: %s",
              trouble->problem ? trouble->problem : "no reason is known");
}
