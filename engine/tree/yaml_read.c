/* SPDX-License-Identifier: MIT */
/*
 * One YAML document to a tree. The only caller of libyaml.
 *
 * Events are taken one at a time and kept on a stack of open containers, so
 * depth and number of nodes are bounded before memory is. An alias shares the
 * children of what it names and counts as many nodes as that has, itself
 * expanded: a few lines that stand for billions of nodes are refused.
 */
#include "tree/names.h"
#include "tree/node.h"
#include "tree/yaml_effort.h"
#include "tree/yaml_trouble.h"

#include <limits.h>
#include <string.h>
#include <yaml.h>

enum {
    MOST_DEPTH = 64,
    MOST_NODES = 1000000,
    MOST_ERRORS = 20,
    MOST_BYTES = 32 * 1024 * 1024, /* more than a million nodes need */
    MOST_TEXT = 64 * 1024,         /* bytes of one text: messages repeat texts */
    LONGEST_KEY = 1024,            /* characters, by YAML 1.1 */
    FEW_KEYS = 16                  /* so many are searched one by one */
};

typedef struct anchor {
    const char *name;
    cm_node *node; /* NULL while what it names is still open */
    int nodes;     /* expanded */
    int height;    /* levels of containers */
} anchor;

typedef struct frame {
    cm_node *node;
    anchor *named; /* by which anchor; NULL: none */
    int nodes_before;
    int height;
    bool flow;
    const char *key; /* the key that waits for its value */
    cm_place key_place;
    bool key_quoted;
    cm_names keys; /* used beyond FEW_KEYS */
} frame;

typedef struct reader {
    cm_session *session;
    const char *name, *bytes;
    size_t length;
    yaml_parser_t parser;
    yaml_event_t event;
    cm_node *root;
    int depth, nodes, errors;
    cm_names anchors;
    size_t seen_characters, seen_bytes; /* how far the search for a place in the bytes has come */
    frame frames[MOST_DEPTH];
} reader;

static void release_reader(void *what)
{
    reader *r = what;
    yaml_event_delete(&r->event);
    yaml_parser_delete(&r->parser);
}

/* ---- places and errors ---- */

static int from_one(size_t count)
{
    return count < INT_MAX ? (int)count + 1 : INT_MAX;
}

static cm_place place_of(const reader *r, const yaml_mark_t *mark)
{
    return (cm_place){r->name, from_one(mark->line), from_one(mark->column)};
}

/* Counts as editors do; only needed when something is wrong. */
static cm_place place_of_byte(const reader *r, size_t offset)
{
    size_t line = 0, column = 0;
    for (size_t i = 0; i < offset && i < r->length; i++) {
        unsigned char c = (unsigned char)r->bytes[i];
        bool line_ends = c == '\n' || (c == '\r' && !(i + 1 < r->length && r->bytes[i + 1] == '\n'));
        column += (c & 0xC0) != 0x80;
        line += line_ends;
        column = line_ends ? 0 : column;
    }
    return (cm_place){r->name, from_one(line), from_one(column)};
}

CM_NORETURN static void give_up(reader *r)
{
    cm_fail(r->session, CM_BAD_INPUT, NULL);
}

/* Counts an error after which reading goes on. */
static void count_error(reader *r)
{
    if (++r->errors >= MOST_ERRORS)
        give_up(r);
}

CM_NORETURN static void refuse(reader *r, cm_place place, const char *words)
{
    cm_report(r->session, CM_ERROR, &place, "%s", words);
    give_up(r);
}

CM_NORETURN static void refuse_whole(reader *r, const char *words)
{
    refuse(r, (cm_place){r->name, 1, 1}, words);
}

/* A broken character is reported by whichever of its bytes is wrong; people look for its first. */
static size_t start_of_character(const reader *r, size_t offset)
{
    for (size_t back = 1; back <= 3 && back <= offset; back++) {
        unsigned char c = (unsigned char)r->bytes[offset - back];
        if (c >= 0xC0)
            return offset - back;
        if (c < 0x80)
            break;
    }
    return offset;
}

CM_NORETURN static void refuse_bytes(reader *r)
{
    size_t offset = r->parser.problem_offset;
    if (r->parser.problem && strstr(r->parser.problem, "trailing"))
        offset = start_of_character(r, offset);
    cm_place place = place_of_byte(r, offset);
    int value = r->parser.problem_value;
    if (r->parser.problem && strstr(r->parser.problem, "control character"))
        cm_report(r->session, CM_ERROR, &place, "a control character (code %d) is not allowed here", value);
    else
        cm_report(r->session, CM_ERROR, &place, "this is not UTF-8: save the file as UTF-8 text");
    give_up(r);
}

/* Byte offset of a mark, which counts characters. Marks asked for must not go back. */
static size_t offset_of(reader *r, const yaml_mark_t *mark)
{
    while (r->seen_characters < mark->index && r->seen_bytes < r->length) {
        r->seen_bytes++;
        while (r->seen_bytes < r->length && ((unsigned char)r->bytes[r->seen_bytes] & 0xC0) == 0x80)
            r->seen_bytes++;
        r->seen_characters++;
    }
    return r->seen_bytes;
}

/* The library's words, but where it has none: a key is one only as far as the library looks ahead for its colon. */
static const char *problem_of(const yaml_parser_t *parser)
{
    const yaml_mark_t *start = &parser->context_mark, *end = &parser->problem_mark;
    const char *problem = parser->problem;
    if (problem && strstr(problem, "could not find expected ':'") && start->line == end->line &&
        end->index - start->index > LONGEST_KEY)
        return "long key";
    bool far_out = problem && strstr(problem, "mapping values") && end->column > LONGEST_KEY;
    return far_out ? "long line" : problem;
}

CM_NORETURN static void refuse_syntax(reader *r)
{
    const yaml_parser_t *parser = &r->parser;
    cm_yaml_trouble trouble = {.problem = problem_of(parser),
                               .problem_place = place_of(r, &parser->problem_mark)};
    if (parser->context)
        trouble.context_place = place_of(r, &parser->context_mark);
    r->seen_characters = r->seen_bytes = 0;
    size_t offset = offset_of(r, &parser->problem_mark);
    trouble.found = offset < r->length ? (unsigned char)r->bytes[offset] : 0;
    cm_yaml_explain(r->session, &trouble);
    give_up(r);
}

static void next_event(reader *r)
{
    yaml_event_delete(&r->event);
    if (yaml_parser_parse(&r->parser, &r->event))
        return;
    memset(&r->event, 0, sizeof r->event);
    if (r->parser.error == YAML_MEMORY_ERROR)
        cm_fail(r->session, CM_NO_MEMORY, NULL);
    if (r->parser.error == YAML_READER_ERROR)
        refuse_bytes(r);
    refuse_syntax(r);
}

/* ---- keys ---- */

static frame *top(reader *r)
{
    return r->depth ? &r->frames[r->depth - 1] : NULL;
}

static bool wants_key(const frame *f)
{
    return f && f->node->kind == CM_MAP && !f->key;
}

static cm_node *child_with_key(const frame *f, const char *key)
{
    return f->node->count > FEW_KEYS ? cm_names_get(&f->keys, key) : cm_node_get(f->node, key);
}

static void remember_key(reader *r, frame *f, cm_node *child)
{
    if (f->node->count <= FEW_KEYS)
        return;
    if (f->keys.count == 0)
        for (cm_node *earlier = f->node->first; earlier; earlier = earlier->next)
            cm_names_set(r->session, &f->keys, earlier->key, earlier);
    cm_names_set(r->session, &f->keys, child->key, child);
}

static void take_key(reader *r, frame *f)
{
    const yaml_event_t *event = &r->event;
    bool plain = event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
    f->key_place = place_of(r, &event->start_mark);
    if (plain && event->data.scalar.length == 0)
        refuse(r, f->key_place, "a key is missing before the colon");
    f->key = cm_copy_text(r->session, (const char *)event->data.scalar.value, event->data.scalar.length);
    f->key_quoted = !plain;
    if (strlen(f->key) != event->data.scalar.length)
        refuse(r, f->key_place, "a key must not contain the character with code 0");
    if (plain && strcmp(f->key, "<<") == 0)
        refuse(r, f->key_place, "merge keys (<<) are not supported: write the keys out");
}

/* ---- adding nodes ---- */

static void count_nodes(reader *r, int more, cm_place place)
{
    if (more > MOST_NODES - r->nodes)
        refuse(r, place, "more than a million values, aliases counted in full");
    r->nodes += more;
}

static void append(frame *f, cm_node *child)
{
    if (f->node->last)
        f->node->last->next = child;
    else
        f->node->first = child;
    f->node->last = child;
    f->node->count++;
}

static void append_under_key(reader *r, frame *f, cm_node *child)
{
    const cm_node *earlier = child_with_key(f, f->key);
    child->key = f->key;
    child->key_place = f->key_place;
    f->key = NULL;
    if (!earlier) {
        append(f, child);
        remember_key(r, f, child);
        return;
    }
    cm_report(r->session, CM_ERROR, &child->key_place,
              "the key '%s' is repeated; it stands already in line %d", child->key, earlier->key_place.line);
    count_error(r);
}

static void attach(reader *r, cm_node *child)
{
    frame *f = top(r);
    if (!f)
        r->root = child;
    else if (f->node->kind == CM_MAP)
        append_under_key(r, f, child);
    else
        append(f, child);
}

static anchor *new_anchor(reader *r, const yaml_char_t *name)
{
    if (!name)
        return NULL;
    anchor *a = CM_NEW(r->session, 1, anchor);
    a->name = cm_copy_text(r->session, (const char *)name, strlen((const char *)name));
    cm_names_set(r->session, &r->anchors, a->name, a);
    return a;
}

static void refuse_tag(reader *r, const yaml_char_t *tag)
{
    if (tag)
        refuse(r, place_of(r, &r->event.start_mark),
               "tags (!) are not supported: leave the tag out, or put the text in quotes");
}

/* ---- scalars ---- */

static bool is_nothing(const char *text)
{
    static const char *const words[] = {"", "~", "null", "Null", "NULL"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(text, words[i]) == 0)
            return true;
    return false;
}

/* The library puts an absent value where it noticed; that may be another line than the key's. */
static void report_nothing(reader *r, const frame *f, const cm_node *node)
{
    cm_place place = node->place;
    if (f && f->key && place.line != f->key_place.line && !*node->text)
        place = f->key_place;
    const char *colon = f && f->key && f->flow && !f->key_quoted ? strchr(f->key, ':') : NULL;
    if (colon && !*node->text)
        cm_report(r->session, CM_ERROR, &f->key_place, "put a blank after the colon: %.*s: %s",
                  (int)(colon - f->key), f->key, colon + 1);
    else if (f && f->key)
        cm_report(r->session, CM_ERROR, &place, "%s has no value%s", f->key,
                  f->flow && strchr("0123456789", *f->key)
                      ? "; a comma ends an entry here: decimals take a point"
                      : "");
    else
        cm_report(r->session, CM_ERROR, &place, "this list item has no value");
    count_error(r);
}

/* `id: probe #2`: YAML drops everything from the # on, and nobody would notice. */
static void warn_of_comment(reader *r, const cm_node *node)
{
    size_t at = offset_of(r, &r->event.end_mark);
    while (at < r->length && (r->bytes[at] == ' ' || r->bytes[at] == '\t'))
        at++;
    if (at < r->length && r->bytes[at] == '#')
        cm_report(r->session, CM_WARNING, &node->place,
                  "the rest of the line after # is a comment; put it in quotes if it belongs to the id");
}

static void take_value(reader *r, frame *f)
{
    const yaml_event_t *event = &r->event;
    cm_node *node = CM_NEW(r->session, 1, cm_node);
    node->kind = CM_TEXT;
    node->place = place_of(r, &event->start_mark);
    node->quoted = event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE;
    node->text = cm_copy_text(r->session, (const char *)event->data.scalar.value, event->data.scalar.length);
    count_nodes(r, 1, node->place);
    if (strlen(node->text) != event->data.scalar.length)
        refuse(r, node->place, "a text must not contain the character with code 0");
    if (!node->quoted && !f && !*node->text)
        refuse_whole(r, "the file is empty");
    if (!node->quoted && is_nothing(node->text))
        report_nothing(r, f, node);
    else if (!node->quoted && f && f->key && strcmp(f->key, "id") == 0)
        warn_of_comment(r, node);
    anchor *named = new_anchor(r, event->data.scalar.anchor);
    if (named)
        *named = (anchor){named->name, node, 1, 0};
    attach(r, node);
}

static void take_scalar(reader *r)
{
    frame *f = top(r);
    refuse_tag(r, r->event.data.scalar.tag);
    if (r->event.data.scalar.length > MOST_TEXT)
        refuse(r, place_of(r, &r->event.start_mark), "a text of more than 64 KiB begins here");
    if (wants_key(f))
        take_key(r, f);
    else
        take_value(r, f);
}

/* ---- containers and aliases ---- */

static void open_container(reader *r, cm_kind kind, const yaml_char_t *anchor_name, bool flow)
{
    cm_place place = place_of(r, &r->event.start_mark);
    if (wants_key(top(r)))
        refuse(r, place,
               "a key must be a text, not a list or a map: a text that begins with '{' or '[' needs quotes");
    if (r->depth == MOST_DEPTH)
        refuse(r, place, "lists and maps are nested more than 64 deep");
    count_nodes(r, 1, place);
    cm_node *node = CM_NEW(r->session, 1, cm_node);
    node->kind = kind;
    node->place = place;
    r->frames[r->depth++] = (frame){.node = node,
                                    .named = new_anchor(r, anchor_name),
                                    .nodes_before = r->nodes - 1,
                                    .height = 1,
                                    .flow = flow};
}

static void raise_height(frame *f, int height)
{
    if (f && f->height < height + 1)
        f->height = height + 1;
}

/* A container joins its parent when it is complete: its own key stays in the parent's frame until then. */
static void close_container(reader *r)
{
    frame *f = &r->frames[--r->depth];
    if (f->named)
        *f->named = (anchor){f->named->name, f->node, r->nodes - f->nodes_before, f->height};
    raise_height(top(r), f->height);
    attach(r, f->node);
}

static const anchor *anchor_named(reader *r, const char *name, cm_place place)
{
    const anchor *a = cm_names_get(&r->anchors, name);
    if (a && a->node)
        return a;
    cm_report(r->session, CM_ERROR, &place,
              a ? "the alias *%s stands inside what it names" : "nothing is named &%s before this place",
              name);
    give_up(r);
}

static void take_alias(reader *r)
{
    cm_place place = place_of(r, &r->event.start_mark);
    if (wants_key(top(r)))
        refuse(r, place, "a key must be a text, not an alias: a text that begins with '*' needs quotes");
    const anchor *a = anchor_named(r, (const char *)r->event.data.alias.anchor, place);
    if (r->depth + a->height > MOST_DEPTH)
        refuse(r, place, "lists and maps are nested more than 64 deep");
    count_nodes(r, a->nodes, place);
    raise_height(top(r), a->height);
    cm_node *node = CM_NEW(r->session, 1, cm_node);
    *node = *a->node; /* children are shared: their sibling links are the same in both */
    node->next = NULL;
    node->key = NULL;
    node->place = place;
    attach(r, node);
}

/* ---- the document ---- */

static void refuse_second(reader *r)
{
    if (r->root)
        refuse(r, place_of(r, &r->event.start_mark),
               "a second document begins here: one file holds one case");
}

static void take_event(reader *r)
{
    const yaml_event_t *event = &r->event;
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        refuse_second(r);
        break;
    case YAML_SCALAR_EVENT:
        take_scalar(r);
        break;
    case YAML_ALIAS_EVENT:
        take_alias(r);
        break;
    case YAML_MAPPING_START_EVENT:
        refuse_tag(r, event->data.mapping_start.tag);
        open_container(r, CM_MAP, event->data.mapping_start.anchor,
                       event->data.mapping_start.style == YAML_FLOW_MAPPING_STYLE);
        break;
    case YAML_SEQUENCE_START_EVENT:
        refuse_tag(r, event->data.sequence_start.tag);
        open_container(r, CM_LIST, event->data.sequence_start.anchor,
                       event->data.sequence_start.style == YAML_FLOW_SEQUENCE_STYLE);
        break;
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        close_container(r);
        break;
    default:
        break;
    }
}

static bool begins_with(const reader *r, const char *bytes, size_t length)
{
    return r->length >= length && memcmp(r->bytes, bytes, length) == 0;
}

/* UTF-16 and UTF-32 are refused by their marks; the mark of UTF-8 would shift the columns of the first line. */
static void check_bytes(reader *r)
{
    if (r->length > MOST_BYTES)
        refuse_whole(r, "the file is larger than 32 MiB");
    if (begins_with(r, "\xFF\xFE\0\0", 4) || begins_with(r, "\0\0\xFE\xFF", 4))
        refuse_whole(r, "this is UTF-32: save the file as UTF-8 text");
    if (begins_with(r, "\xFF\xFE", 2) || begins_with(r, "\xFE\xFF", 2))
        refuse_whole(r, "this is UTF-16: save the file as UTF-8 text");
    if (begins_with(r, "\xEF\xBB\xBF", 3)) {
        r->bytes += 3;
        r->length -= 3;
    }
    cm_yaml_effort effort = cm_yaml_effort_of(r->bytes, r->length);
    if (effort.words)
        refuse(r, place_of_byte(r, effort.offset), effort.words);
}

static reader *open_reader(cm_session *session, const char *name, const char *bytes, size_t length)
{
    reader *r = CM_NEW(session, 1, reader);
    r->session = session;
    r->name = cm_copy_text(session, name, strlen(name));
    r->bytes = bytes;
    r->length = length;
    check_bytes(r);
    cm_defer(session, release_reader, r);
    if (!yaml_parser_initialize(&r->parser))
        cm_fail(session, CM_NO_MEMORY, NULL);
    yaml_parser_set_encoding(&r->parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&r->parser, (const unsigned char *)r->bytes, r->length);
    return r;
}

cm_node *cm_yaml_read(cm_session *session, const char *name, const char *bytes, size_t length)
{
    reader *r = open_reader(session, name, bytes, length);
    do {
        next_event(r);
        take_event(r);
    } while (r->event.type != YAML_STREAM_END_EVENT);
    if (!r->root)
        refuse_whole(r, "the file is empty");
    cm_release_last(session);
    return r->root;
}
