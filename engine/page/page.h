/* SPDX-License-Identifier: MIT */
/**
 * @file page.h
 * Inside of a page: one result as a tree for programs and as a document for people.
 */
#ifndef PAGE_PAGE_H
#define PAGE_PAGE_H

#include "base/session.h"
#include "countermass/page.h"
#include "page/document.h"
#include "tree/node.h"

struct cm_page {
    cm_node *tree;         /* NULL: `facts` makes it from `job` when a format for programs is asked for */
    cm_document *document; /* NULL: `words` makes it from `job` when text is asked for */
    cm_node *(*facts)(cm_session *session, const cm_job *job);
    cm_document *(*words)(cm_session *session, const cm_job *job);
    cm_job job;
    const char *file; /* named in the result; NULL: in none that stands alone */
};

cm_page *cm_page_new(cm_session *session, cm_node *tree, cm_document *document);

/** The page of a result whose tree and words wait until a program or a person wants to read them. */
cm_page *cm_page_of(cm_session *session, const cm_job *job, cm_node *(*facts)(cm_session *, const cm_job *),
                    cm_document *(*words)(cm_session *, const cm_job *));

/** The page as a tree: made now, or before. */
cm_node *cm_page_tree(cm_session *session, const cm_page *page);

/** The page in a format; ends with a newline. */
const char *cm_page_text(cm_session *session, const cm_page *page, cm_page_format format, bool colour);

/** The document alone as HTML; ids in it count from `number`. */
const char *cm_page_article(cm_session *session, const cm_page *page, int number);

/* What `verify` says of many cases: one entry a case (changes `tree`), and what stands above them in a text. */
cm_node *cm_verified_entry(cm_session *session, cm_node *tree);
const char *cm_verified_title(cm_session *session, int count, int passed, bool colour);

/* The tree of each result, field by field as docs/results.md describes it. */
cm_node *cm_tree_solve(cm_session *session, const cm_job *job);
cm_node *cm_tree_influence(cm_session *session, const cm_job *job);
cm_node *cm_tree_check(cm_session *session, const cm_job *job);
cm_node *cm_tree_planes(cm_session *session, const cm_job *job);

/* The document of each result. */
cm_document *cm_words_solve(cm_session *session, const cm_job *job);
cm_document *cm_words_influence(cm_session *session, const cm_job *job);
cm_document *cm_words_check(cm_session *session, const cm_job *job);
cm_document *cm_words_planes(cm_session *session, const cm_job *job);

/** Lists of a result, or one row, as a part of a table for spreadsheets; parts joined make the table. */
const char *cm_csv_part(cm_session *session, const cm_node *tree,
                        const char *file); /* NULL: no column for it */
const char *cm_csv_row(cm_session *session, const cm_node *row);
const char *cm_csv_join(cm_session *session, int count, const char *const *parts);

/** Adds "condition" to a result; numbers are null while a coefficient that they need is undetermined. */
void cm_tree_condition(cm_session *session, cm_node *parent, const cm_job *job);

/** Adds "predicted": one entry a reading, with the answer's masses. */
void cm_tree_predictions(cm_session *session, cm_node *tree, const cm_job *job);

/** Adds what the runs do not tell, the run that would settle it, and the readings to leave out. */
void cm_tree_missing(cm_session *session, cm_node *tree, const cm_job *job);

/* The result of `place`. */
cm_node *cm_tree_place(cm_session *session, const cm_job *job);
cm_document *cm_words_place(cm_session *session, const cm_job *job);

#endif
