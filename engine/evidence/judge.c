/* SPDX-License-Identifier: MIT */
/* What a sceptical colleague would ask of a job: a table of questions, each in a function of its own. */
#include "evidence/steps.h"
#include "model/job_call.h"

static cm_question *const QUESTIONS[] = {
    cm_ask_undetermined, cm_ask_survey,        cm_ask_critical,    cm_ask_margins,        cm_ask_sweep_rate,
    cm_ask_mounted,      cm_ask_retraced,      cm_ask_slip,        cm_ask_readings,       cm_ask_caps,
    cm_ask_dependence,   cm_ask_conditioning,  cm_ask_resonance,   cm_ask_slopes,         cm_ask_trial_size,
    cm_ask_proof,        cm_ask_worse,         cm_ask_priors,      cm_ask_trial_response, cm_ask_trial_danger,
    cm_ask_misfit,       cm_ask_repeats,       cm_ask_speeds_held, cm_ask_loads_held,     cm_ask_settled,
    cm_ask_visibility,   cm_ask_blind_sensors, cm_ask_base,        cm_ask_scatter,        cm_ask_sizes,
    cm_ask_run_masses,   cm_ask_slow_roll,     cm_ask_unread,      cm_ask_phases,         cm_ask_overall,
    cm_ask_staying,      cm_ask_left_out,      cm_ask_drift_times, cm_ask_order_in_time,  cm_ask_card,
};

/* Faults first, then warnings, then notes; within each in the order of the questions. */
static const cm_finding *by_severity(cm_notes *notes)
{
    cm_finding *sorted = CM_NEW(notes->session, notes->count, cm_finding);
    int filled = 0;
    for (int severity = CM_ERROR; severity >= CM_NOTE; severity--)
        for (int i = 0; i < notes->count; i++)
            if ((int)notes->items[i].severity == severity)
                sorted[filled++] = notes->items[i];
    return sorted;
}

cm_status cm_judge(cm_session *session, cm_job *theirs)
{
    static const cm_job_call CALL = {"cm_judge", CM_HAS_GIVEN, CM_HAS_FINDINGS};
    CM_ENTER(session);
    cm_job *job = cm_job_begin(session, &CALL, theirs);
    cm_notes notes = {.session = session, .job = job};
    notes.steps = cm_steps_of(&notes);
    for (size_t i = 0; i < sizeof QUESTIONS / sizeof *QUESTIONS; i++)
        QUESTIONS[i](&notes);
    cm_findings *findings = CM_NEW(session, 1, cm_findings);
    *findings = (cm_findings){sizeof *findings, notes.count, by_severity(&notes)};
    job->findings = findings;
    cm_job_end(&CALL, job, theirs);
    return cm_leave(session);
}
