// SPDX-License-Identifier: MIT
// Case files in, JSON out, one session a thread.
#include <countermass.h>

#include <iostream>
#include <memory>
#include <string>
#include <thread>
#include <vector>

using Session = std::unique_ptr<cm_session, void (*)(cm_session *)>;

// The steps of `countermass solve`; each reads what the steps before it left in the job.
static cm_status steps(cm_session *session, const char *file, cm_page **page)
{
    cm_job job{};
    job.size = sizeof job;
    cm_status status = cm_case_read(session, file, &job.given);
    if (status == CM_OK)
        status = cm_case_runs(session, job.given, &job.runs);
    if (status == CM_OK)
        status = cm_fit(session, job.runs, &job.influence);
    if (status == CM_OK)
        status = cm_case_problem(session, job.given, job.influence, &job.problem);
    if (status == CM_OK)
        status = cm_determine(session, &job);
    if (status == CM_OK)
        status = cm_condition_of(session, job.problem, &job.condition);
    if (status == CM_OK)
        status = cm_solve(session, job.problem, &job.answer);
    if (status == CM_OK)
        status = cm_spread_of(session, &job);
    if (status == CM_OK)
        status = cm_spread_by_repetition(session, &job);
    if (status == CM_OK)
        status = cm_drift_of(session, &job);
    if (status == CM_OK)
        status = cm_load_range_of(session, &job);
    if (status == CM_OK)
        status = cm_gains_of(session, &job);
    if (status == CM_OK) // the last run only: what is on the rotor rests on it
        status = cm_examine(session, &job, 1);
    if (status == CM_OK)
        status = cm_judge(session, &job);
    if (status == CM_OK)
        status = cm_foretell(session, &job);
    if (status == CM_OK)
        status = cm_page_solve(session, &job, page);
    return status;
}

static std::string solve(const std::string &file)
{
    Session session(cm_open(nullptr), cm_close);
    if (!session)
        return "out of memory\n";
    cm_page *page = nullptr;
    const char *text = nullptr;
    cm_status status = steps(session.get(), file.c_str(), &page);
    if (status == CM_OK)
        status = cm_page_render(session.get(), page, CM_FORMAT_JSON, 0, &text);
    if (status == CM_OK)
        return text; // a copy: the text itself goes with the session
    std::string messages;
    for (int i = 0; i < cm_message_count(session.get()); i++) {
        const cm_message *m = cm_message_at(session.get(), i);
        messages +=
            file + ":" + std::to_string(m->line) + ":" + std::to_string(m->column) + ": " + m->text + "\n";
    }
    return messages;
}

int main(int count, char **files)
{
    std::vector<std::string> results(static_cast<size_t>(count - 1));
    std::vector<std::thread> threads;
    for (int i = 1; i < count; i++)
        threads.emplace_back([&results, files, i] { results[static_cast<size_t>(i - 1)] = solve(files[i]); });
    for (auto &thread : threads)
        thread.join();
    for (const auto &result : results)
        std::cout << result;
}
