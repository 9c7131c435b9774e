/* SPDX-License-Identifier: MIT */
/* Text of the user inside markup, drawings and pages: whatever it says, it stays text. */
#include "suite.h"

#include "page/dial.h"
#include "page/document.h"
#include "page/markup.h"

#include <stdio.h>
#include <string.h>

static cm_session *session;

typedef struct task {
    void (*add)(cm_text *out, const char *text);
    const char *text;
    const char *markup;
} task;

static cm_status run_task(task *t)
{
    CM_ENTER(session);
    cm_text out = {.session = session};
    cm_text_add(&out, "");
    t->add(&out, t->text);
    t->markup = out.bytes;
    return cm_leave(session);
}

static const char *markup(void (*add)(cm_text *out, const char *text), const char *text)
{
    task t = {add, text, NULL};
    CU_ASSERT_EQUAL_FATAL(run_task(&t), CM_OK);
    return t.markup;
}

static void test_text(void)
{
    CU_ASSERT_STRING_EQUAL(markup(cm_markup_add, "<script>alert('x\" & y')</script>"),
                           "&lt;script&gt;alert(&#39;x&quot; &amp; y&#39;)&lt;/script&gt;");
    CU_ASSERT_STRING_EQUAL(markup(cm_markup_add, "\xc2\xb5m \xe2\x82\xac"), "\xc2\xb5m \xe2\x82\xac");
    /* a bell, an overlong byte, a change of writing direction, what XML has no place for */
    CU_ASSERT_STRING_EQUAL(markup(cm_markup_add, "a\x07z"), "a\xef\xbf\xbdz");
    CU_ASSERT_STRING_EQUAL(markup(cm_markup_add, "a\xc0z"), "a\xef\xbf\xbdz");
    CU_ASSERT_STRING_EQUAL(markup(cm_markup_add, "a\xe2\x80\xaez"), "a\xef\xbf\xbdz");
    CU_ASSERT_STRING_EQUAL(markup(cm_markup_add, "a\xef\xbf\xbez"), "a\xef\xbf\xbdz");
    CU_ASSERT_STRING_EQUAL(markup(cm_markup_add_lines, "a:\n\t<b>\n"), "a:\n\t&lt;b&gt;\n");
}

static void add_data(cm_text *out, const char *text)
{
    cm_node *map = cm_node_map(out->session);
    cm_node_add_text(out->session, map, text, text);
    cm_markup_add_data(out, map);
}

static void test_data(void)
{
    const char *data = markup(add_data, "</script><!--&");
    CU_ASSERT_PTR_NULL(strpbrk(data, "<>&"));
    CU_ASSERT_PTR_NOT_NULL(strstr(data, "\\u003c/script\\u003e\\u003c!--\\u0026"));
}

static void add_number(cm_text *out, const char *text)
{
    double value;
    CU_ASSERT_EQUAL(sscanf(text, "%lf", &value), 1);
    cm_markup_add_number(out, value);
}

static void test_numbers(void)
{
    CU_ASSERT_STRING_EQUAL(markup(add_number, "1.5"), "1.5");
    CU_ASSERT_STRING_EQUAL(markup(add_number, "100"), "100");
    CU_ASSERT_STRING_EQUAL(markup(add_number, "-0.126"), "-0.13");
    CU_ASSERT_STRING_EQUAL(markup(add_number, "-0.001"), "0");
}

/* A drawing and a page with the same hostile text everywhere. */
static void add_page(cm_text *out, const char *text)
{
    cm_document *d = cm_document_new(out->session);
    const cm_column column = {.head = text, .unit = text, .key = true};
    const char *cells[] = {text};
    cm_drawing *drawing = cm_drawing_new(out->session, 10, 10, text, text);
    cm_draw_words(drawing, "small", CM_LEFT, (cm_point){0, 0}, text);
    cm_draw_begin(drawing, text);
    cm_draw_end(drawing);
    cm_title(d, "%s", text);
    cm_section(d, "%s", text);
    cm_head(d, "%s", text);
    cm_big(d, "%s", text);
    cm_say(d, CM_BAD, "%s", text);
    cm_item(d, CM_PLAIN, "%s", text);
    cm_copy_line(d, "%s", text);
    cm_blank(d, "%s", text);
    cm_tick(d, "%s", text);
    cm_source_lines(d, text);
    cm_table_row(d, cm_table_open(d, 1, &column), cells);
    cm_figure(d, drawing);
    int number = 0;
    cm_text body = {.session = out->session};
    cm_document_html(&body, d, &number);
    cm_text_add(out, cm_html_page(out->session, text, body.bytes));
    cm_text_add(out, cm_drawing_file(out->session, drawing));
}

static void test_nothing_slips_through(void)
{
    const char *page = markup(add_page, "<img src=x onerror=alert(1)>\"'&");
    CU_ASSERT_PTR_NULL(strstr(page, "<img"));
    CU_ASSERT_PTR_NULL(strstr(page, "\"'&"));
    int count = 0;
    for (const char *at = page;
         (at = strstr(at, "&lt;img src=x onerror=alert(1)&gt;&quot;&#39;&amp;")) != NULL; at++)
        count++;
    CU_ASSERT(count >= 20);
}

/* Rotation counter-clockwise, angles against it: 90 stands to the right of the mark; with clockwise rotation to the left. */
static void test_where_angles_stand(void)
{
    cm_plane plane = {.zero = -20 * 0.017453292519943295}; /* 20 degrees against rotation */
    cm_case c = {
        .rotation = 1, .against_rotation = true, .phase_lag = true, .planes = &plane, .plane_count = 1};
    CU_ASSERT_EQUAL(cm_growth_of_angles(&c), 1);
    CU_ASSERT_EQUAL(cm_growth_of_phases(&c), 1);
    ASSERT_NEAR(cm_zero_on_paper(&c, 0), 20, 1e-12);
    c.rotation = -1;
    CU_ASSERT_EQUAL(cm_growth_of_angles(&c), -1);
    ASSERT_NEAR(cm_zero_on_paper(&c, 0), -20, 1e-12);
    c.against_rotation = c.phase_lag = false;
    CU_ASSERT_EQUAL(cm_growth_of_angles(&c), 1);
    CU_ASSERT_EQUAL(cm_growth_of_phases(&c), 1);
    cm_dial dial = {NULL, {100, 100}, 50, 2, -1, 0};
    cm_point p = cm_dial_point(&dial, 1, 90);
    ASSERT_NEAR(p.x, 75, 1e-12);
    ASSERT_NEAR(p.y, 100, 1e-12);
}

static void test_round_steps(void)
{
    ASSERT_NEAR(cm_round_step(10, 5), 2, 1e-12);
    ASSERT_NEAR(cm_round_step(1.7, 5), 0.5, 1e-12);
    ASSERT_NEAR(cm_round_step(0, 5), 1, 1e-12);
}

int main(void)
{
    static const cm_test tests[] = {
        {"text becomes entities", test_text},
        {"data for a script", test_data},
        {"numbers of attributes", test_numbers},
        {"nothing slips through", test_nothing_slips_through},
        {"where angles stand", test_where_angles_stand},
        {"round steps", test_round_steps},
        {NULL, NULL},
    };
    session = cm_open(NULL);
    int status = run_suite("page markup", tests);
    cm_close(session);
    return status;
}
