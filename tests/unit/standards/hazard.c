/* SPDX-License-Identifier: MIT */
/* Force, rim speed and overspeed; the cautions of the table stand in docs/safety.md word for word. */
#include "suite.h"
#include "model/overspeed.h"
#include "standards/hazard.h"

#include <stdio.h>
#include <string.h>

static void test_force_and_rim_speed(void)
{
    double omega = 3000 * 2 * 3.14159265358979323846 / 60;
    /* computed by hand: 0.1 kg · 0.3 m · (100 pi rad/s)² = 300 pi² N */
    ASSERT_NEAR(cm_centrifugal_force(0.1, 0.3, omega), 2960.8813203268, 1e-12);
    ASSERT_NEAR(cm_rim_speed(0.3, omega), 94.24777960769379, 1e-12);
    /* (30 pi m/s)² · 0.1 kg / 2 = 45 pi² J */
    ASSERT_NEAR(cm_released_energy(0.1, 0.3, omega), 444.13219804901, 1e-12);
    CU_ASSERT(isnan(cm_centrifugal_force(0.1, NAN, omega)));
}

static void test_overspeed(void)
{
    cm_speed speeds[] = {{.omega = 100}, {.omega = 300}};
    cm_case c = {.service_speed = NAN, .overspeed = NAN, .speed_count = 2, .speeds = speeds};
    bool assumed = false;
    ASSERT_NEAR(cm_overspeed_of(&c, &assumed), 330, 1e-14);
    CU_ASSERT(assumed);
    c.service_speed = 400;
    ASSERT_NEAR(cm_overspeed_of(&c, &assumed), 440, 1e-14);
    c.overspeed = 350;
    ASSERT_NEAR(cm_overspeed_of(&c, &assumed), 350, 0);
    CU_ASSERT(!assumed);
    c = (cm_case){.service_speed = NAN, .overspeed = NAN};
    CU_ASSERT(isnan(cm_overspeed_of(&c, &assumed)));
}

/* Reads a file with runs of white space made one blank. */
static void read_words(const char *path, char *words, size_t room)
{
    FILE *file = fopen(path, "r");
    CU_ASSERT_PTR_NOT_NULL_FATAL(file);
    size_t length = 0;
    for (int c; (c = fgetc(file)) != EOF && length + 1 < room;) {
        bool blank = c == ' ' || c == '\n';
        if (!blank || (length && words[length - 1] != ' '))
            words[length++] = blank ? ' ' : (char)c;
    }
    words[length] = '\0';
    fclose(file);
}

static void test_safety_document(void)
{
    static char words[16384];
    read_words("docs/safety.md", words, sizeof words);
    int count = 0;
    for (const cm_caution *caution = CM_CAUTIONS; caution->title; caution++, count++) {
        char sentence[1024];
        snprintf(sentence, sizeof sentence, "**%s** %s", caution->title, caution->text);
        CU_ASSERT_PTR_NOT_NULL(strstr(words, sentence));
    }
    CU_ASSERT(count >= 5);
}

int main(void)
{
    static const cm_test tests[] = {
        {"force and rim speed", test_force_and_rim_speed},
        {"overspeed, given or assumed", test_overspeed},
        {"docs/safety.md carries every caution", test_safety_document},
        {NULL, NULL},
    };
    return run_suite("standards/hazard", tests);
}
