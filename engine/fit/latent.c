/* SPDX-License-Identifier: MIT */
/* Problem: rows of one block whose priors share a latent error g_j per plane.
 *
 *     row i:   H_i w_i + C_i g = d_i + noise      (whitened; w_i its own unknowns)
 *     prior:   g = 0 + noise
 *
 * Method: block-arrow least squares through one QR per row and one for g. After Q_iᴴ the lower equations of a row no
 * longer hold w_i:
 *
 *     R_i w_i + T_i g = t_i          Z_i g = z_i
 *
 * All Z_i stacked over the identity give g by one more QR, R_g g = (Q_gᴴ z); then w_i = R_i⁻¹ (t_i - T_i g). The error
 * of g is S q with S = R_g⁻¹ and q ~ N(0, 1). The mean of the base runs is made of the same readings: its weights,
 * turned by Q_iᴴ and then by Q_gᴴ, give its covariance with q.
 * Source: block-angular least squares, Golub, Manneback and Toint (1986), from memory.
 */
#include "fit/latent.h"
#include "linalg/dense.h"

#include <string.h>

#undef I

static bool shares(const cm_known *known)
{
    return known->uncertainty > 0 && cabs(cm_latent_strength(known)) > 0;
}

static cm_latents *entry_of(cm_session *session, const cm_evidence *evidence, cm_latent_list *list, int block)
{
    for (int k = 0; k < list->count; k++)
        if (list->items[k].block == block)
            return &list->items[k];
    cm_latents *entry = &list->items[list->count++];
    int keys = evidence->planes + evidence->given->set_count;
    entry->block = block;
    entry->of_plane = CM_NEW(session, keys, int);
    for (int j = 0; j < keys; j++)
        entry->of_plane[j] = -1;
    return entry;
}

cm_latent_list cm_list_latents(cm_session *session, const cm_evidence *evidence)
{
    cm_latent_list list = {.items = CM_NEW(session, evidence->rows, cm_latents)};
    for (int k = 0; k < evidence->given->known_count; k++) {
        const cm_known *known = &evidence->given->known[k];
        if (!shares(known))
            continue;
        cm_latents *entry = entry_of(session, evidence, &list, evidence->given->block[known->row]);
        if (entry->of_plane[cm_latent_key(evidence, known)] < 0)
            entry->of_plane[cm_latent_key(evidence, known)] = entry->count++;
    }
    for (int k = 0; k < list.count; k++) {
        list.items[k].first = list.total;
        list.total += list.items[k].count;
    }
    return list;
}

cm_latents *cm_latents_of(const cm_latent_list *list, const cm_evidence *evidence, int row)
{
    for (int k = 0; k < list->count; k++)
        if (list->items[k].block == evidence->given->block[row])
            return &list->items[k];
    return NULL;
}

static bool concerned(const cm_evidence *evidence, const cm_system *system, const cm_latents *latents)
{
    int row = system->group->row[system->first];
    return system->latents > 0 && evidence->given->block[row] == latents->block;
}

static int stacked_rows(const cm_evidence *evidence, const cm_system *systems, int count,
                        const cm_latents *latents)
{
    int rows = latents->count;
    for (int s = 0; s < count; s++)
        if (concerned(evidence, &systems[s], latents))
            rows += systems[s].m - systems[s].n;
    return rows;
}

/* Copies the lower part of a system into the stack at `at`: Z_i, z_i, and the base weights of its row. */
static void stack_system(const cm_system *system, const cm_latents *latents, int at, int ld,
                         double complex *z, double complex *right)
{
    int below = system->m - system->n;
    size_t bytes = (size_t)below * sizeof *z;
    for (int l = 0; l < latents->count; l++)
        memcpy(z + at + (size_t)l * (size_t)ld, system->latent + system->n + (size_t)l * (size_t)system->m,
               bytes);
    memcpy(right + at, system->left + system->n, bytes);
    int row = system->group->row[system->first];
    for (int k = 0; system->base && k < below; k++)
        right[(size_t)(at + k) + (size_t)(row + 1) * (size_t)ld] =
            system->sigma * system->base[system->n + k];
}

static void invert(cm_latents *latents, const double complex *r, int ld)
{
    int n = latents->count;
    for (int l = 0; l < n; l++)
        latents->inverse[l + l * n] = 1;
    cm_tri_solve(n, n, r, ld, false, latents->inverse, n);
}

void cm_solve_latents(cm_session *session, const cm_evidence *evidence, const cm_system *systems, int count,
                      cm_latents *latents)
{
    int n = latents->count, rows = evidence->rows;
    latents->g = CM_NEW(session, n, double complex);
    latents->inverse = CM_NEW(session, (size_t)n * (size_t)n, double complex);
    latents->base = CM_NEW(session, (size_t)n * (size_t)rows, double complex);
    cm_mark mark = cm_mark_of(session);
    int ld = stacked_rows(evidence, systems, count, latents);
    double complex *z = CM_NEW(session, (size_t)ld * (size_t)n, double complex);
    double complex *right = CM_NEW(session, (size_t)ld * (size_t)(rows + 1), double complex);
    double complex *tau = CM_NEW(session, n, double complex);
    int at = n;
    for (int l = 0; l < n; l++)
        z[(size_t)l + (size_t)l * (size_t)ld] = 1;
    for (int s = 0; s < count; s++)
        if (concerned(evidence, &systems[s], latents)) {
            stack_system(&systems[s], latents, at, ld, z, right);
            at += systems[s].m - systems[s].n;
        }
    cm_qr(session, ld, n, z, ld, tau);
    cm_qr_times_qh(session, ld, rows + 1, n, z, ld, tau, right, ld);
    memcpy(latents->g, right, (size_t)n * sizeof *right);
    cm_tri_solve(n, 1, z, ld, false, latents->g, n);
    for (int i = 0; i < rows; i++)
        memcpy(latents->base + (size_t)i * (size_t)n, right + (size_t)(i + 1) * (size_t)ld,
               (size_t)n * sizeof *right);
    invert(latents, z, ld);
    cm_release_to(session, mark);
}
