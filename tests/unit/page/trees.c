/* SPDX-License-Identifier: MIT */
/* Result trees from a job made by hand: units and angles back as the user counts, null where nothing is known. */
#include "fabricated.h"

#include "page/page.h"

#include <stdlib.h>
#include <string.h>

static fabricated made;
static cm_session *session;

/* The number, text or map at a path such as "corrections/0/change/mass". */
static const cm_node *at(const cm_node *node, const char *path)
{
    char step[64];
    while (node && *path) {
        size_t length = strcspn(path, "/");
        snprintf(step, sizeof step, "%.*s", (int)length, path);
        path += length + (path[length] == '/');
        if (node->kind == CM_MAP) {
            node = cm_node_get(node, step);
            continue;
        }
        node = node->first;
        for (int skip = atoi(step); node && skip > 0; skip--)
            node = node->next;
    }
    return node;
}

static double number_at(const cm_node *tree, const char *path)
{
    const cm_node *node = at(tree, path);
    return node && node->kind == CM_NUMBER ? node->number : NAN;
}

static const char *text_at(const cm_node *tree, const char *path)
{
    const cm_node *node = at(tree, path);
    return node && node->kind == CM_TEXT ? node->text : "";
}

static bool null_at(const cm_node *tree, const char *path)
{
    const cm_node *node = at(tree, path);
    return node && (node->kind == CM_NULL || (node->kind == CM_NUMBER && !isfinite(node->number)));
}

static const cm_node *solve_tree(void)
{
    return cm_tree_solve(session, &made.job);
}

static void test_corrections(void)
{
    fabricate(&made);
    const cm_node *tree = solve_tree();
    CU_ASSERT_STRING_EQUAL(text_at(tree, "status"), "optimal");
    ASSERT_NEAR(number_at(tree, "corrections/0/mass"), 2, 1e-12);
    ASSERT_NEAR(number_at(tree, "corrections/0/angle"), 90, 1e-12);
    CU_ASSERT(at(tree, "corrections/0/at_cap")->truth);
    /* change: -2i - 1 ounces: length sqrt(5), 116.57 degrees against rotation */
    ASSERT_NEAR(number_at(tree, "corrections/0/change/mass"), sqrt(5), 1e-12);
    ASSERT_NEAR(number_at(tree, "corrections/0/change/angle"), 116.56505117707799, 1e-12);
    /* nothing on P2: mass 0 has angle 0, whatever the plane's zero */
    CU_ASSERT(number_at(tree, "corrections/1/mass") == 0 && number_at(tree, "corrections/1/angle") == 0);
    ASSERT_NEAR(number_at(tree, "corrections/0/force"), 2 * OUNCE * 0.25 * 330 * 330, 1e-12);
    CU_ASSERT(null_at(tree, "corrections/1/rim_speed"));
}

static void test_predictions(void)
{
    fabricate(&made);
    const cm_node *tree = solve_tree();
    /* before: the run without masses, not the base state's 2 um */
    ASSERT_NEAR(number_at(tree, "predicted/0/before/amplitude"), 1, 1e-12);
    ASSERT_NEAR(number_at(tree, "predicted/0/before/phase"), 30, 1e-12);
    ASSERT_NEAR(number_at(tree, "predicted/2/before/amplitude"), 3, 1e-12);
    CU_ASSERT_STRING_EQUAL(text_at(tree, "predicted/2/unit"), "mil pp");
    CU_ASSERT(null_at(tree, "predicted/2/limit") && null_at(tree, "predicted/2/spread90"));
    ASSERT_NEAR(number_at(tree, "predicted/1/limit"), 60, 1e-12);
    ASSERT_NEAR(number_at(tree, "predicted/2/after/phase"), 315, 1e-12);
    double almost_zero = number_at(tree, "predicted/0/after/phase");
    CU_ASSERT(almost_zero >= 0 && almost_zero < 360);
    made.row_determined[2] = 0;
    made.weight[2] = 0;
    CU_ASSERT(null_at(solve_tree(), "predicted/2/after"));
}

static void test_before_falls_back(void)
{
    fabricate(&made);
    made.repeats[0] = 0; /* the bare run did not read the first row */
    ASSERT_NEAR(number_at(solve_tree(), "predicted/0/before/amplitude"), 2, 1e-12);
}

static void test_condition(void)
{
    fabricate(&made);
    const cm_node *tree = solve_tree();
    ASSERT_NEAR(number_at(tree, "condition/overall"), 3, 0);
    CU_ASSERT(null_at(tree, "condition/by_speed/1/value"));
    made.determined[0] = 0; /* DE-x slow on P1 */
    tree = solve_tree();
    CU_ASSERT(null_at(tree, "condition/overall") && null_at(tree, "condition/by_speed/0/value"));
    made.held[0] = 1; /* a plane that is held does not count */
    ASSERT_NEAR(number_at(solve_tree(), "condition/overall"), 3, 0);
}

static void test_objective_in_mass_units(void)
{
    fabricate(&made);
    made.answer.value = made.answer.bound = 5 * OUNCE;
    made.problem.objective = CM_LEAST_MASS;
    const cm_node *tree = solve_tree();
    ASSERT_NEAR(number_at(tree, "objective/value"), 5, 1e-12);
    CU_ASSERT_STRING_EQUAL(text_at(tree, "objective/minimise"), "least-mass");
}

static void test_infeasible(void)
{
    static const unsigned char rows[ROWS] = {0, 1, 0}, planes[PLANES] = {1, 0};
    fabricate(&made);
    made.answer = (cm_answer){
        .outcome = CM_INFEASIBLE, .limits_factor = 1.5, .conflict_rows = rows, .conflict_planes = planes};
    const cm_node *tree = solve_tree();
    ASSERT_NEAR(number_at(tree, "limits_factor"), 1.5, 0);
    CU_ASSERT(null_at(tree, "objective/value"));
    CU_ASSERT(at(tree, "corrections")->count == 0 && at(tree, "predicted")->count == 0);
    CU_ASSERT_STRING_EQUAL(text_at(tree, "conflict/0/sensor"), "DE-x");
    CU_ASSERT_STRING_EQUAL(text_at(tree, "conflict/1/plane"), "P1");
}

static void test_undetermined(void)
{
    static const unsigned char unknown[ROWS * PLANES] = {0, 0, 0, 0, 0, 1}, plane[PLANES] = {0, 1},
                                              drop[ROWS] = {0, 0, 1};
    fabricate(&made);
    made.row_determined[2] = 0;
    made.determination = (cm_determination){.determined = made.row_determined,
                                            .counted = 1,
                                            .unknown = unknown,
                                            .run_count = 1,
                                            .run_planes = plane,
                                            .dropped = drop,
                                            .anything_left = 1};
    made.answer = (cm_answer){.outcome = CM_UNDETERMINED, .limits_factor = NAN};
    const cm_node *tree = solve_tree();
    CU_ASSERT_EQUAL(at(tree, "undetermined")->count, 1);
    CU_ASSERT_STRING_EQUAL(text_at(tree, "undetermined/0/sensor"), "FE-x");
    CU_ASSERT_STRING_EQUAL(text_at(tree, "undetermined/0/planes/0"), "P2");
    CU_ASSERT_STRING_EQUAL(text_at(tree, "run/trial_on/0"), "P2");
    CU_ASSERT_STRING_EQUAL(text_at(tree, "drop_rows/0/0"), "FE-x");
    CU_ASSERT_STRING_EQUAL(text_at(tree, "drop_rows/0/1"), "service");
    const char *text = cm_document_text(session, cm_words_solve(session, &made.job), false);
    CU_ASSERT_PTR_NOT_NULL(strstr(text, "    objective:\n      drop_rows: [[FE-x, service]]\n"));
    made.determination.anything_left = 0;
    CU_ASSERT_EQUAL(at(solve_tree(), "drop_rows")->count, 0);
}

static void test_influence(void)
{
    fabricate(&made);
    const cm_node *tree = cm_tree_influence(session, &made.job);
    CU_ASSERT_EQUAL(at(tree, "coefficients")->count, ROWS * PLANES);
    ASSERT_NEAR(number_at(tree, "coefficients/0/value/amplitude"), 1, 1e-12);
    ASSERT_NEAR(number_at(tree, "coefficients/0/value/phase"), 10, 1e-12);
    /* P2 counts from 30 against rotation: its own 0 turns the coefficient by as much */
    ASSERT_NEAR(number_at(tree, "coefficients/1/value/phase"), 50, 1e-12);
    ASSERT_NEAR(number_at(tree, "coefficients/1/std"), 0.1, 1e-12);
    made.std_known[0] = 0;
    made.determined[1] = 0;
    tree = cm_tree_influence(session, &made.job);
    CU_ASSERT(null_at(tree, "coefficients/0/std") && !null_at(tree, "coefficients/0/value"));
    CU_ASSERT(null_at(tree, "coefficients/2/std") && null_at(tree, "coefficients/2/value"));
}

/* The page of solve with every run of white space made one blank. */
static const char *solve_words(void)
{
    static char words[32768];
    size_t length = 0;
    const char *text = cm_document_text(session, cm_words_solve(session, &made.job), false);
    for (; *text && length + 1 < sizeof words; text++) {
        bool blank = *text == ' ' || *text == '\n';
        if (!blank || (length && words[length - 1] != ' '))
            words[length++] = blank ? ' ' : *text;
    }
    words[length] = '\0';
    return words;
}

static void test_text_both_ways(void)
{
    fabricate(&made);
    const char *text = solve_words();
    CU_ASSERT_PTR_NOT_NULL(strstr(text, "If these masses stay on, add:"));
    CU_ASSERT_PTR_NOT_NULL(strstr(
        text, "P1: 2.236 oz, radius 250 mm, at 116.6 degrees against rotation from the reference mark."));
    CU_ASSERT_PTR_NOT_NULL(strstr(
        text, "P1: 2.000 oz, radius 250 mm, at 90.0 degrees against rotation from the reference mark."));
    CU_ASSERT_PTR_NOT_NULL(strstr(text, "P2 counts from its own zero, 30.0 degrees against rotation"));
    CU_ASSERT_PTR_NOT_NULL(
        strstr(text, "turns clockwise; angles grow against rotation, so count counter-clockwise"));
    made.mass.stays = true; /* what stays cannot come off: one way only */
    text = solve_words();
    CU_ASSERT_PTR_NULL(strstr(text, "If these masses stay on"));
    CU_ASSERT_PTR_NOT_NULL(strstr(text, "P1: 2.236 oz, radius 250 mm, at 116.6 degrees"));
}

int main(void)
{
    static const cm_test tests[] = {
        {"corrections", test_corrections},
        {"predictions", test_predictions},
        {"before: the bare runs, else the base state", test_before_falls_back},
        {"condition numbers and null", test_condition},
        {"least mass in mass units", test_objective_in_mass_units},
        {"infeasible", test_infeasible},
        {"undetermined", test_undetermined},
        {"influence", test_influence},
        {"masses both ways", test_text_both_ways},
        {NULL, NULL},
    };
    session = cm_open(NULL);
    int status = run_suite("page/trees", tests);
    cm_close(session);
    return status;
}
