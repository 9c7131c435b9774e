/* SPDX-License-Identifier: MIT */
/* Problem: N spans what the runs leave open, the rows of T are what is asked.
 *
 *     T N = 0          everything asked is told
 *     rank(T N)        how many things are missing
 *
 * A further run with functional f leaves N ∩ {f n = 0} open. It lowers rank(T N) by one iff f N lies in the row space
 * of T N (then the kernel of T N stays in that of f N), and by none otherwise.
 */
#include "fit/missing.h"
#include "linalg/dense.h"

#include <string.h>

#undef I

/* f·N, without conjugation. */
static void apply(const cm_missing *missing, const double complex *f, double complex *out)
{
    for (int d = 0; d < missing->open; d++) {
        out[d] = 0;
        for (int l = 0; l < missing->lines; l++)
            out[d] += f[l] * missing->null[l + d * missing->lines];
    }
}

void cm_find_missing(cm_session *session, cm_missing *missing)
{
    int t = missing->asked, d = missing->open;
    missing->rank = 0;
    if (t == 0 || d == 0)
        return;
    missing->row_space = CM_NEW(session, (size_t)d * (size_t)d, double complex);
    cm_mark mark = cm_mark_of(session);
    double complex *product = CM_NEW(session, (size_t)t * (size_t)d, double complex);
    double complex *line = CM_NEW(session, d, double complex);
    for (int k = 0; k < t; k++) {
        apply(missing, missing->ask + (size_t)k * (size_t)missing->lines, line);
        for (int c = 0; c < d; c++)
            product[k + c * t] = line[c];
    }
    double *s = CM_NEW(session, d, double);
    double complex *v = CM_NEW(session, (size_t)d * (size_t)d, double complex);
    cm_svd(session, t, d, product, t, s, NULL, v);
    while (missing->rank < d && missing->rank < t && s[missing->rank] > CM_OPEN)
        missing->rank++;
    memcpy(missing->row_space, v, (size_t)missing->rank * (size_t)d * sizeof *v);
    cm_release_to(session, mark);
}

int cm_gain(cm_session *session, const cm_missing *missing, const double complex *f)
{
    if (missing->rank == 0)
        return 0;
    cm_mark mark = cm_mark_of(session);
    int d = missing->open;
    double complex *line = CM_NEW(session, d, double complex);
    apply(missing, f, line);
    double size = cm_norm2(d, line);
    for (int r = 0; r < missing->rank; r++) {
        const double complex *direction = missing->row_space + (size_t)r * (size_t)d;
        double complex share = 0;
        for (int c = 0; c < d; c++)
            share += line[c] * direction[c];
        for (int c = 0; c < d; c++)
            line[c] -= share * conj(direction[c]);
    }
    double outside = cm_norm2(d, line);
    cm_release_to(session, mark);
    if (size <= CM_OPEN)
        return 0;
    return outside <= CM_OPEN * size ? 2 : 1;
}

void cm_add_run(cm_session *session, cm_missing *missing, const double complex *f)
{
    int d = missing->open, lines = missing->lines;
    if (d == 0)
        return;
    double complex *line = CM_NEW(session, d, double complex);
    double complex *tau = CM_NEW(session, 1, double complex);
    double complex *adjoint = CM_NEW(session, (size_t)d * (size_t)lines, double complex);
    apply(missing, f, line);
    if (cm_norm2(d, line) <= CM_OPEN)
        return;
    for (int c = 0; c < d; c++) {
        line[c] = conj(line[c]);
        for (int l = 0; l < lines; l++)
            adjoint[c + l * d] = conj(missing->null[l + c * lines]);
    }
    cm_qr(session, d, 1, line, d, tau);
    cm_qr_times_qh(session, d, lines, 1, line, d, tau, adjoint, d);
    for (int c = 1; c < d; c++)
        for (int l = 0; l < lines; l++)
            missing->null[l + (c - 1) * lines] = conj(adjoint[c + l * d]);
    missing->open = d - 1;
    cm_find_missing(session, missing);
}

cm_missing cm_copy_missing(cm_session *session, const cm_missing *missing)
{
    cm_missing copy = *missing;
    size_t cells = (size_t)missing->lines * (size_t)missing->open;
    copy.null = CM_NEW(session, cells, double complex);
    memcpy(copy.null, missing->null, cells * sizeof *copy.null);
    return copy;
}
