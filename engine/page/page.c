/* SPDX-License-Identifier: MIT */
/* Pages of single results and of wrong cases; rendering and saving. */
#include "page/page.h"

#include "base/file.h"
#include "base/text.h"
#include "model/job_call.h"

#include <string.h>

cm_page *cm_page_new(cm_session *session, cm_node *tree, cm_document *document)
{
    cm_page *page = CM_NEW(session, 1, cm_page);
    *page = (cm_page){.tree = tree, .document = document};
    return page;
}

cm_page *cm_page_of(cm_session *session, const cm_job *job, cm_node *(*facts)(cm_session *, const cm_job *),
                    cm_document *(*words)(cm_session *, const cm_job *))
{
    cm_page *page = cm_page_new(session, NULL, NULL);
    page->facts = facts;
    page->words = words;
    page->job = *job;
    return page;
}

cm_node *cm_page_tree(cm_session *session, const cm_page *page)
{
    cm_node *tree = page->facts ? page->facts(session, &page->job) : page->tree;
    if (page->file && !cm_node_get(tree, "file"))
        cm_node_add_text_after(session, tree, "case", "file", page->file);
    return tree;
}

cm_status cm_page_check(cm_session *session, const cm_job *theirs, cm_page **page)
{
    static const cm_job_call CALL = {"cm_page_check", CM_HAS_GIVEN, 0};
    CM_ENTER(session);
    const cm_job *job = cm_job_begin(session, &CALL, theirs);
    *page = cm_page_of(session, job, cm_tree_check, cm_words_check);
    return cm_leave(session);
}

cm_status cm_page_influence(cm_session *session, const cm_job *theirs, cm_page **page)
{
    static const cm_job_call CALL = {
        "cm_page_influence",
        CM_HAS_GIVEN | CM_HAS_RUNS | CM_HAS_INFLUENCE | CM_HAS_PROBLEM | CM_HAS_CONDITION, 0};
    CM_ENTER(session);
    const cm_job *job = cm_job_begin(session, &CALL, theirs);
    *page = cm_page_of(session, job, cm_tree_influence, cm_words_influence);
    return cm_leave(session);
}

cm_status cm_page_solve(cm_session *session, const cm_job *theirs, cm_page **page)
{
    static const cm_job_call CALL = {"cm_page_solve",
                                     CM_HAS_GIVEN | CM_HAS_RUNS | CM_HAS_INFLUENCE | CM_HAS_PROBLEM |
                                         CM_HAS_DETERMINATION | CM_HAS_CONDITION | CM_HAS_ANSWER |
                                         CM_HAS_FINDINGS,
                                     0};
    CM_ENTER(session);
    const cm_job *job = cm_job_begin(session, &CALL, theirs);
    *page = cm_page_of(session, job, cm_tree_solve, cm_words_solve);
    return cm_leave(session);
}

cm_status cm_page_planes(cm_session *session, const cm_job *theirs, cm_page **page)
{
    static const cm_job_call CALL = {
        "cm_page_planes", CM_HAS_GIVEN | CM_HAS_RUNS | CM_HAS_INFLUENCE | CM_HAS_PROBLEM | CM_HAS_COMPARISON,
        0};
    CM_ENTER(session);
    const cm_job *job = cm_job_begin(session, &CALL, theirs);
    *page = cm_page_of(session, job, cm_tree_planes, cm_words_planes);
    return cm_leave(session);
}

static void add_position(cm_session *session, cm_node *map, const char *key, int position)
{
    if (position > 0)
        cm_node_add_number(session, map, key, position);
    else
        cm_node_add_text(session, map, key, NULL);
}

/* What concerns a whole case stands at 1:1; a file that cannot be opened has no line. */
static void add_error(cm_session *session, cm_node *list, cm_document *d, const char *file,
                      const cm_message *message)
{
    int line = message->file ? message->line : 1, column = message->file ? message->column : 1;
    const char *name = message->file ? message->file : file;
    cm_node *map = cm_node_add_map(session, list, NULL);
    add_position(session, map, "line", line);
    add_position(session, map, "column", column);
    cm_node_add_text(session, map, "text", message->text);
    if (line > 0)
        cm_item(d, CM_BAD, "%s:%d:%d: %s", name, line, column, message->text);
    else
        cm_item(d, CM_BAD, "%s: %s", name, message->text);
}

static cm_page *error_page(cm_session *session, const char *file, int first)
{
    cm_node *tree = cm_node_map(session);
    cm_document *d = cm_document_new(session);
    cm_node_add_text(session, tree, "result", "error");
    cm_node_add_text(session, tree, "file", file);
    cm_node *list = cm_node_add_list(session, tree, "messages");
    cm_title(d, "%s", file);
    cm_say(d, CM_BAD, "This case has no result:");
    for (int i = first > 0 ? first : 0; i < session->message_count; i++)
        if (session->messages[i].severity == CM_ERROR)
            add_error(session, list, d, file, &session->messages[i]);
    return cm_page_new(session, tree, d);
}

cm_status cm_page_error(cm_session *session, const char *file, int first, cm_page **page)
{
    CM_ENTER(session);
    *page = error_page(session, file, first);
    return cm_leave(session);
}

/* The page as a document: made now, or before; that of a wrong case has its file as its title. */
static const cm_document *document_of(cm_session *session, const cm_page *page)
{
    if (!page->words)
        return page->document;
    cm_document *d = page->words(session, &page->job);
    if (page->file)
        cm_under_title(d, "File: %s", page->file);
    return d;
}

const char *cm_page_article(cm_session *session, const cm_page *page, int number)
{
    cm_text body = {.session = session};
    cm_text_add(&body, "");
    cm_document_html(&body, document_of(session, page), &number);
    return body.bytes;
}

static const char *html_text(cm_session *session, const cm_page *page)
{
    cm_text body = {.session = session};
    int number = 0;
    const cm_document *d = document_of(session, page);
    cm_text_add(&body, "");
    cm_document_html(&body, d, &number);
    return cm_html_page(session, d->first && d->first->kind == CM_PART_TITLE ? d->first->text : "countermass",
                        body.bytes);
}

const char *cm_page_text(cm_session *session, const cm_page *page, cm_page_format format, bool colour)
{
    if (format == CM_FORMAT_TEXT)
        return cm_document_text(session, document_of(session, page), colour);
    if (format == CM_FORMAT_HTML)
        return html_text(session, page);
    if (format == CM_FORMAT_CSV)
        return cm_csv_join(session, 1,
                           (const char *[]){cm_csv_part(session, cm_page_tree(session, page), NULL)});
    const cm_node *tree = cm_page_tree(session, page);
    return format == CM_FORMAT_JSON ? cm_json_write(session, tree) : cm_yaml_write(session, tree);
}

cm_status cm_page_render(cm_session *session, const cm_page *page, cm_page_format format, int colour,
                         const char **text)
{
    CM_ENTER(session);
    if ((unsigned)format > CM_FORMAT_HTML)
        cm_fail(session, CM_BAD_INPUT, "a page in format %d: there is no such format", (int)format);
    *text = cm_page_text(session, page, format, colour != 0);
    return cm_leave(session);
}

cm_status cm_save(cm_session *session, const char *path, const char *text)
{
    return cm_save_together(session, 1, &path, &text);
}

cm_status cm_save_together(cm_session *session, int count, const char *const *paths, const char *const *texts)
{
    CM_ENTER(session);
    if (count < 0)
        cm_fail(session, CM_BAD_INPUT, "a number of files may not be negative");
    cm_file_text *files = CM_NEW(session, count, cm_file_text);
    for (int i = 0; i < count; i++)
        files[i] = (cm_file_text){paths[i], texts[i], strlen(texts[i])};
    cm_files_write(session, count, files);
    return cm_leave(session);
}
