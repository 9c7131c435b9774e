/* SPDX-License-Identifier: MIT */
/* Sections are read in a fixed order, so errors arrive out of order: a short sorted list puts them right. */
#include "case/errors.h"

static bool earlier(const cm_place *a, const cm_place *b)
{
    return a->line != b->line ? a->line < b->line : a->column < b->column;
}

bool cm_errors_wanted(const cm_errors *errors, const cm_place *place)
{
    return errors->count <= CM_ERRORS_SHOWN || earlier(place, &errors->items[CM_ERRORS_SHOWN].place);
}

static void insert(cm_errors *errors, cm_error error)
{
    int at = errors->count <= CM_ERRORS_SHOWN ? errors->count++ : CM_ERRORS_SHOWN;
    for (; at > 0 && earlier(&error.place, &errors->items[at - 1].place); at--)
        errors->items[at] = errors->items[at - 1];
    errors->items[at] = error;
}

void cm_errors_add(cm_session *session, cm_errors *errors, const cm_place *place, const char *format,
                   va_list arguments)
{
    if (cm_errors_wanted(errors, place))
        insert(errors, (cm_error){*place, cm_format_list(session, format, arguments)});
}

void cm_errors_take(cm_session *session, cm_errors *errors, int first)
{
    int kept = first;
    for (int i = first; i < session->message_count; i++) {
        const cm_message message = session->messages[i];
        const cm_place place = {message.file, message.line, message.column};
        if (message.severity != CM_ERROR)
            session->messages[kept++] = message;
        else if (cm_errors_wanted(errors, &place))
            insert(errors, (cm_error){place, message.text});
    }
    session->errors -= session->message_count - kept;
    session->message_count = kept;
}

void cm_errors_fail(cm_session *session, const cm_errors *errors)
{
    if (!errors->count)
        return;
    for (int i = 0; i < errors->count && i < CM_ERRORS_SHOWN; i++)
        cm_report(session, CM_ERROR, &errors->items[i].place, "%s%s", errors->items[i].text,
                  i + 1 == CM_ERRORS_SHOWN && errors->count > CM_ERRORS_SHOWN ? "; more errors follow" : "");
    cm_fail(session, CM_BAD_INPUT, NULL);
}
