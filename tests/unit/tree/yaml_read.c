/* SPDX-License-Identifier: MIT */
/* Reading YAML: what is accepted, what is refused, where and in which words. */
#include "suite.h"
#include "tree/node.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static cm_status read_bytes(cm_session *session, const char *bytes, size_t length, cm_node **tree)
{
    CM_ENTER(session);
    cm_node *found = cm_yaml_read(session, "a.yaml", bytes, length);
    cm_fail_on_errors(session);
    *tree = found;
    return cm_leave(session);
}

static cm_status read_text(cm_session *session, const char *text, cm_node **tree)
{
    return read_bytes(session, text, strlen(text), tree);
}

static const char *text_at(const cm_node *map, const char *key)
{
    const cm_node *node = cm_node_get(map, key);
    return node && node->text ? node->text : "(none)";
}

static void test_small_case(void)
{
    cm_session *session = cm_open(NULL);
    cm_node *tree = NULL;
    const char *text = "\xEF\xBB\xBF"
                       "case: {title: \"K\xC3\xBChl\", no: NO}\nruns:\n- id: 'null'\n  at: [82 @ 143, 1e3]\n";
    CU_ASSERT_EQUAL_FATAL(read_text(session, text, &tree), CM_OK);
    CU_ASSERT_EQUAL(tree->count, 2);
    const cm_node *header = cm_node_get(tree, "case");
    CU_ASSERT_STRING_EQUAL(text_at(header, "title"), "K\xC3\xBChl");
    CU_ASSERT_TRUE(cm_node_get(header, "title")->quoted);
    CU_ASSERT_STRING_EQUAL(text_at(header, "no"), "NO");
    CU_ASSERT_EQUAL(cm_node_get(header, "no")->key_place.column, 23);
    const cm_node *run = cm_node_get(tree, "runs")->first;
    CU_ASSERT_STRING_EQUAL(text_at(run, "id"), "null");
    CU_ASSERT_EQUAL(run->place.line, 3);
    CU_ASSERT_EQUAL(run->place.column, 3);
    CU_ASSERT_EQUAL(cm_node_get(run, "at")->count, 2);
    CU_ASSERT_STRING_EQUAL(cm_node_get(run, "at")->last->text, "1e3");
    CU_ASSERT_PTR_NULL(cm_node_get(run, "at")->last->next);
    cm_close(session);
}

typedef struct refusal {
    const char *text;
    int line, column;
    const char *words; /* a part of the message */
} refusal;

static const refusal REFUSALS[] = {
    {"", 1, 1, "empty"},
    {"# only a comment\n", 1, 1, "empty"},
    {"---\n", 1, 1, "empty"},
    {"a: 1\n---\nb: 2\n", 2, 1, "second document"},
    {"a: !!str 1\n", 1, 4, "tags"},
    {"a: !mine {b: 1}\n", 1, 4, "tags"},
    {"a: &x {b: 1}\nc:\n  <<: *x\n", 3, 3, "merge keys"},
    {"[1, 2]: 3\n", 1, 1, "key must be a text"},
    {"a: &x 1\n*x : 2\n", 2, 1, "not an alias"},
    {"a: 1\nb: 2\na: 3\n", 3, 1, "'a' is repeated; it stands already in line 1"},
    {"a:\nb: 2\n", 1, 3, "a has no value"},
    {"a: {b: ~}\n", 1, 8, "b has no value"},
    {"a: null\n", 1, 4, "a has no value"},
    {"a: [1, null]\n", 1, 8, "list item has no value"},
    {"a:\n  - \n  - 2\n", 2, 4, "list item has no value"},
    {"a: {P1:1}\n", 1, 5, "blank after the colon: P1: 1"},
    {"a: {P\xC3\x9C: 1, DE-x:82 @ 143}\n", 1, 12, "blank after the colon: DE-x: 82 @ 143"},
    {"- id: @1\n", 1, 7, "in quotes"},
    {"- id: `x\n", 1, 7, "in quotes"},
    {"a:\n\tb: 1\n", 2, 1, "tab"},
    {"a: [1, 2\n", 2, 1, "closing ']'"},
    {"a: {b: 1\n", 2, 1, "closing '}' is missing before this place; it was opened in line 1"},
    {"a: 'x\n", 1, 4, "never closed"},
    {"a: \"\\q\"\n", 1, 5, "escape"},
    {"a: b: c\n", 1, 5, "': ' is not expected"},
    {"a: 1\n b: 2\n", 2, 3, "': ' is not expected"},
    {"a: 1\nbcd\ne: 2\n", 2, 1, "no ': ' after it"},
    {"a: *x\n", 1, 4, "nothing is named &x"},
    {"a: &x [*x]\n", 1, 8, "inside what it names"},
    {": 1\n", 1, 1, "next key is expected"},
    {"x: {a:[1]}\n", 1, 6, "blank after the colon"},
    {"a: {: 1}\n", 1, 5, "key or a value is missing"},
    {"?\n: 1\n", 1, 2, "key is missing"},
    {"a: \"\\0\"\n", 1, 4, "code 0"},
    {"\xFF\xFE"
     "a",
     1, 1, "UTF-16"},
    {"a: 1\nb: \xC3\xBC\xE4 x\n", 2, 5, "not UTF-8"},
    {"a: 1\nb: \x01\n", 2, 4, "control character (code 1)"},
};

static void test_refusals(void)
{
    for (size_t i = 0; i < sizeof REFUSALS / sizeof *REFUSALS; i++) {
        const refusal *want = &REFUSALS[i];
        cm_session *session = cm_open(NULL);
        cm_node *tree = NULL;
        CU_ASSERT_EQUAL(read_text(session, want->text, &tree), CM_BAD_INPUT);
        const cm_message *got = cm_message_at(session, 0);
        bool right = got && got->line == want->line && got->column == want->column &&
                     strstr(got->text, want->words) && strcmp(got->file, "a.yaml") == 0;
        if (!right)
            printf("\n%s-> %d:%d: %s\n", want->text, got ? got->line : -1, got ? got->column : -1,
                   got ? got->text : "no message");
        CU_ASSERT_TRUE(right);
        CU_ASSERT_EQUAL(cm_message_count(session), 1);
        cm_close(session);
    }
}

/* ---- warnings and collected errors ---- */

static void check_comment(const char *text, int warnings)
{
    cm_session *session = cm_open(NULL);
    cm_node *tree = NULL;
    CU_ASSERT_EQUAL(read_text(session, text, &tree), CM_OK);
    CU_ASSERT_EQUAL(cm_message_count(session), warnings);
    if (warnings && cm_message_count(session)) {
        CU_ASSERT_EQUAL(cm_message_at(session, 0)->severity, CM_WARNING);
        CU_ASSERT_PTR_NOT_NULL(strstr(cm_message_at(session, 0)->text, "after # is a comment"));
    }
    cm_close(session);
}

static void test_comment_after_id(void)
{
    check_comment("- id: probe #2\n", 1);
    check_comment("# K\xC3\xBChlung \xF0\x9F\x98\x80\n- id: K\xC3\xBC #2\n- id: ok\n- id: x\t# y", 2);
    check_comment("- id: 'probe' #2\n- id: probe#2\n- id: a\n  # b\n- x: y # z\n", 0);
}

static void test_errors_are_collected(void)
{
    cm_session *session = cm_open(NULL);
    cm_node *tree = NULL;
    CU_ASSERT_EQUAL(read_text(session, "a: ~\nb: 1\nb: 2\nc: [null]\n", &tree), CM_BAD_INPUT);
    CU_ASSERT_EQUAL(cm_message_count(session), 3);
    CU_ASSERT_PTR_NULL(tree);
    cm_reset(session);
    char many[400] = "";
    for (int i = 0; i < 100; i++)
        strcat(many, "- \n");
    CU_ASSERT_EQUAL(read_text(session, many, &tree), CM_BAD_INPUT);
    CU_ASSERT_EQUAL(cm_message_count(session), 20);
    CU_ASSERT_EQUAL(read_text(session, "a: 1\n", &tree), CM_OK);
    cm_close(session);
}

/* ---- aliases ---- */

static void test_aliases(void)
{
    cm_session *session = cm_open(NULL);
    cm_node *tree = NULL;
    const char *text = "a: &x {p: [1, 2]}\nb: *x\nc: [*x, *x, &y 5, *y]\nd: &x 7\ne: *x\n";
    CU_ASSERT_EQUAL_FATAL(read_text(session, text, &tree), CM_OK);
    CU_ASSERT_EQUAL(cm_node_get(cm_node_get(tree, "b"), "p")->count, 2);
    CU_ASSERT_STRING_EQUAL(tree->first->next->key, "b");
    CU_ASSERT_STRING_EQUAL(tree->first->next->next->key, "c");
    CU_ASSERT_EQUAL(cm_node_get(tree, "c")->count, 4);
    CU_ASSERT_STRING_EQUAL(cm_node_get(tree, "c")->last->text, "5");
    CU_ASSERT_PTR_NULL(cm_node_get(tree, "c")->first->key);
    CU_ASSERT_STRING_EQUAL(text_at(tree, "e"), "7");
    cm_close(session);
}

static void check_refused(const char *bytes, size_t length, const char *words)
{
    cm_session *session = cm_open(NULL);
    cm_node *tree = NULL;
    CU_ASSERT_EQUAL(read_bytes(session, bytes, length, &tree), CM_BAD_INPUT);
    const cm_message *got = cm_message_at(session, 0);
    bool right = got && strstr(got->text, words) && got->line > 0 && got->column > 0;
    if (!right)
        printf("\n%s instead of %s", got ? got->text : "no message", words);
    CU_ASSERT_TRUE(right);
    cm_close(session);
}

/* Every line stands for nine of the line before: 9^8 values in all. */
static void test_alias_bomb(void)
{
    char text[2000] = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n";
    for (int i = 1; i < 8; i++)
        sprintf(text + strlen(text), "a%d: &a%d [*a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d]\n", i,
                i, i - 1, i - 1, i - 1, i - 1, i - 1, i - 1, i - 1, i - 1, i - 1);
    check_refused(text, strlen(text), "million");
}

/* Depth grows through aliases as well. */
static void test_deep_aliases(void)
{
    char text[4000] = "a0: &a0 [x]\n";
    for (int i = 1; i < 70; i++)
        sprintf(text + strlen(text), "a%d: &a%d [*a%d]\n", i, i, i - 1);
    check_refused(text, strlen(text), "64 deep");
}

/* ---- hostile bytes ---- */

enum { HOSTILE = 5000000 };

static char *filled(const char *pattern)
{
    char *bytes = malloc(HOSTILE);
    size_t length = strlen(pattern);
    for (size_t i = 0; bytes && i < HOSTILE; i++)
        bytes[i] = pattern[i % length];
    return bytes;
}

static void test_hostile_patterns(void)
{
    static const char *const cases[][2] = {
        {"[", "64 deep"},
        {"{", "key must be a text"},
        {"- ", "64 deep"},
        {"? ", "key must be a text"},
        {"{a: ", "64 deep"},
        {"- x\n", "million"},
        {"\t", "tab"},
        {" ", "empty"},
        {"\n", "empty"},
        {"#", "empty"},
        {"&a ", ""},
        {"*a ", ""},
        {"'", "64 KiB"},
        {"\"\\", ""},
        {"!", ""},
        {"%", ""},
        {"a: b\n", "repeated"},
        {"\xFF", "UTF-8"},
        {"\xC3\xBC\xC3", "UTF-8"},
        {"|\n", "does not belong"},
        {"---\n", "empty"},
        {"a: [\n", ""},
        {"[a, ", "64 deep"},
        {": ", ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *bytes = filled(cases[i][0]);
        CU_ASSERT_PTR_NOT_NULL_FATAL(bytes);
        check_refused(bytes, HOSTILE, cases[i][1]);
        free(bytes);
    }
}

static void test_noise(void)
{
    char *bytes = malloc(HOSTILE);
    CU_ASSERT_PTR_NOT_NULL_FATAL(bytes);
    srand(3);
    for (int i = 0; i < HOSTILE; i++)
        bytes[i] = (char)rand();
    check_refused(bytes, HOSTILE, "");
    memset(bytes, 0, HOSTILE);
    check_refused(bytes, HOSTILE, "control character (code 0)");
    for (int i = 0; i < HOSTILE; i++)
        bytes[i] = (char)(i % 40 == 39 ? '\n' : ' ' + rand() % 95);
    check_refused(bytes, HOSTILE, "");
    free(bytes);
}

static void test_too_large(void)
{
    size_t length = 33u * 1024 * 1024;
    char *bytes = calloc(length, 1);
    CU_ASSERT_PTR_NOT_NULL_FATAL(bytes);
    check_refused(bytes, length, "larger than 32 MiB");
    free(bytes);
}

/* Small copies of files on which the YAML library alone would spend hours. */
static void test_effort(void)
{
    enum { BLANKS = 6000000, LINES = 1000, TAGS = 100 };
    static const char start[] = "a: >\n x", line[] = " b\n", tag[] = "%TAG !a! x\n";
    size_t length = BLANKS + LINES * strlen(line);
    char *bytes = malloc(length);
    CU_ASSERT_PTR_NOT_NULL_FATAL(bytes);
    memset(bytes, '\n', BLANKS);
    memcpy(bytes, start, strlen(start));
    for (size_t i = 0; i < LINES; i++)
        memcpy(bytes + BLANKS + i * strlen(line), line, strlen(line));
    check_refused(bytes, length, "the stretch of blanks and empty lines");
    for (size_t i = 0; i < TAGS; i++)
        memcpy(bytes + i * strlen(tag), tag, strlen(tag));
    check_refused(bytes, TAGS * strlen(tag), "lines that begin with %TAG");
    free(bytes);
}

static void test_other_encodings(void)
{
    check_refused("\xFF\xFE\0\0a\0\0\0", 8, "UTF-32");
    check_refused("\0\0\xFE\xFF\0\0\0a", 8, "UTF-32");
    check_refused("\xFF\xFE"
                  "a\0",
                  4, "UTF-16");
}

static void check_long_key(const char *before, int length, const char *words, int column)
{
    char text[2000] = "";
    sprintf(text, "%s%0*d: 1\nb: 2\n", before, length, 7);
    cm_session *session = cm_open(NULL);
    cm_node *tree = NULL;
    CU_ASSERT_EQUAL(read_text(session, text, &tree), words ? CM_BAD_INPUT : CM_OK);
    const cm_message *got = cm_message_at(session, 0);
    CU_ASSERT(!words || (got && got->column == column && strstr(got->text, words)));
    cm_close(session);
}

static void test_long_keys(void)
{
    check_long_key("", 1020, NULL, 0);
    check_long_key("a: 1\n", 1020, NULL, 0);
    check_long_key("a: 1\n", 1300, "a key has at most 1024 characters; the one", 1);
    check_long_key("", 1300, "not expected here: a key has at most 1024 characters", 1301);
}

/* Many keys in one map: searching them one by one would take minutes. */
static void test_many_keys(void)
{
    enum { KEYS = 100000 };
    char *text = malloc(KEYS * 16);
    CU_ASSERT_PTR_NOT_NULL_FATAL(text);
    size_t length = 0;
    for (int i = 0; i < KEYS; i++)
        length += (size_t)sprintf(text + length, "k%d: 1\n", i);
    cm_session *session = cm_open(NULL);
    cm_node *tree = NULL;
    CU_ASSERT_EQUAL(read_bytes(session, text, length, &tree), CM_OK);
    CU_ASSERT_EQUAL(tree ? tree->count : 0, KEYS);
    length += (size_t)sprintf(text + length, "k77: 1\n");
    CU_ASSERT_EQUAL(read_bytes(session, text, length, &tree), CM_BAD_INPUT);
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, 0)->text,
                           "the key 'k77' is repeated; it stands already in line 78");
    cm_close(session);
    free(text);
}

/* Every prefix of a lively text is either read or refused with a place. */
static void test_every_prefix(void)
{
    const char *text =
        "a: &x {b: [1, 'two', \"th\\u00e9\"], c: *x0}\nd:\n  - id: K\xC3\xBC #2\n    e: |\n      f\n"
        "  - ? g\n    : h\n... \n";
    for (size_t length = 0; length <= strlen(text); length++) {
        cm_session *session = cm_open(NULL);
        cm_node *tree = NULL;
        cm_status status = read_bytes(session, text, length, &tree);
        const cm_message *got = cm_message_at(session, 0);
        CU_ASSERT(status == CM_OK ? tree != NULL
                                  : status == CM_BAD_INPUT && got && got->line > 0 && got->column > 0);
        cm_close(session);
    }
}

/* ---- memory ---- */

typedef struct purse {
    int left, held;
} purse;

static void *take_from(void *context, size_t bytes)
{
    purse *p = context;
    if (p->left-- <= 0)
        return NULL;
    p->held++;
    return malloc(bytes);
}

static void give_back(void *context, void *memory)
{
    ((purse *)context)->held--;
    free(memory);
}

static void test_every_allocation_fails(void)
{
    char text[40000] = "";
    size_t length = 0;
    for (int i = 0; i < 1500; i++)
        length += (size_t)sprintf(text + length, "k%d: {a: [1, &b%d x]}\n", i, i);
    cm_status status = CM_NO_MEMORY;
    int tries = 0;
    for (; status == CM_NO_MEMORY && tries < 1000; tries++) {
        purse p = {tries + 1, 0};
        cm_host host = {.size = sizeof host, .context = &p, .allocate = take_from, .release = give_back};
        cm_session *session = cm_open(&host);
        cm_node *tree = NULL;
        status = read_bytes(session, text, length, &tree);
        cm_close(session);
        CU_ASSERT_EQUAL(p.held, 0);
    }
    CU_ASSERT_EQUAL(status, CM_OK);
    CU_ASSERT(tries > 5);
}

int main(void)
{
    static const cm_test tests[] = {
        {"a small case", test_small_case},
        {"what is refused, where and why", test_refusals},
        {"comment after an id", test_comment_after_id},
        {"errors are collected", test_errors_are_collected},
        {"aliases", test_aliases},
        {"alias bomb", test_alias_bomb},
        {"deep aliases", test_deep_aliases},
        {"hostile patterns", test_hostile_patterns},
        {"noise", test_noise},
        {"too large", test_too_large},
        {"effort", test_effort},
        {"other encodings", test_other_encodings},
        {"long keys", test_long_keys},
        {"many keys", test_many_keys},
        {"every prefix", test_every_prefix},
        {"every allocation fails", test_every_allocation_fails},
        {NULL, NULL},
    };
    return run_suite("tree/yaml_read", tests);
}
