/* SPDX-License-Identifier: MIT */
/* Question: is the run that is still on its way up over an alarm or a trip? */
#include "evidence/notes.h"

void cm_ask_card(cm_notes *notes)
{
    const cm_card *card = notes->job->card;
    for (int i = 0; card && card->run >= 0 && i < card->count; i++) {
        const cm_card_row *r = &card->rows[i];
        if (!r->is_read || r->over == CM_ABORT_SPREAD)
            continue;
        cm_where where = cm_at_row(notes, r->row);
        where.run = card->run;
        bool trip = r->over == CM_ABORT_TRIP;
        cm_note(
            notes, trip ? "over-trip" : "over-alarm", CM_ERROR, where,
            "%s reads %s in run %s, over its %s of %s. Come down as the plant's procedures say and find the "
            "reason first.",
            cm_row_name(notes, r->row), cm_row_size(notes, r->row, r->level),
            notes->job->given->runs[card->run].id, trip ? "trip" : "alarm",
            cm_row_size(notes, r->row, r->bound));
    }
}
