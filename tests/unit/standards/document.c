/* SPDX-License-Identifier: MIT */
/* docs/standards.md carries every source, grade and zone table as the program knows them. */
#include "suite.h"
#include "standards/permissible.h"
#include "standards/sources.h"
#include "standards/zones.h"

#include <stdio.h>
#include <string.h>

static char words[65536];

/* Reads the document with runs of white space made one blank. */
static void read_document(void)
{
    FILE *file = fopen("docs/standards.md", "r");
    CU_ASSERT_PTR_NOT_NULL_FATAL(file);
    size_t length = 0;
    for (int c; (c = fgetc(file)) != EOF && length + 1 < sizeof words;) {
        bool blank = c == ' ' || c == '\n';
        if (!blank || (length && words[length - 1] != ' '))
            words[length++] = blank ? ' ' : (char)c;
    }
    words[length] = '\0';
    fclose(file);
}

static void expect(const char *line)
{
    if (!strstr(words, line))
        fprintf(stderr, "docs/standards.md lacks: %s\n", line);
    CU_ASSERT_PTR_NOT_NULL(strstr(words, line));
}

static void test_sources(void)
{
    char line[2048];
    read_document();
    for (const cm_source *s = CM_SOURCES; s->key; s++) {
        snprintf(line, sizeof line, "| %s | %s | %s | %s |", s->standard, s->clause ? s->clause : "-",
                 s->says, s->mark);
        expect(line);
    }
    expect(CM_SOURCE_ADVICE);
}

static void test_grades(void)
{
    char line[512];
    read_document();
    for (const cm_grade *g = CM_GRADES; g->name; g++) {
        snprintf(line, sizeof line, "| %s | %s |", g->name, g->machines);
        expect(line);
    }
}

static void test_zones(void)
{
    char line[2048];
    read_document();
    for (const cm_zone *z = CM_ZONES; z->name; z++)
        for (int i = 0; i < z->count; i++) {
            const cm_zone_row *r = &z->rows[i];
            char rpm[32];
            snprintf(rpm, sizeof rpm, "%g", r->rpm);
            snprintf(line, sizeof line, "| %s | %s%s | %s | %g | %g | %g | %s |", z->name, z->unit,
                     z->over_root_speed ? ", over the root of r/min" : "", r->rpm > 0 ? rpm : "any",
                     r->boundary[0], r->boundary[1], r->boundary[2], z->mark);
            expect(line);
        }
    expect(CM_ZONE_ADVICE);
}

int main(void)
{
    static const cm_test tests[] = {
        {"sources", test_sources},
        {"grades", test_grades},
        {"zones", test_zones},
        {NULL, NULL},
    };
    return run_suite("standards/document", tests);
}
