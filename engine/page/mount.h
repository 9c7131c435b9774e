/* SPDX-License-Identifier: MIT */
/** @file mount.h What to mount: shared by the words, the drawings and the report. */
#ifndef PAGE_MOUNT_H
#define PAGE_MOUNT_H

#include "page/words.h"

/** Masses to mount on every plane: from now on, or with what can come off taken off first. */
double complex *cm_to_mount(cm_session *session, const cm_job *job, bool off_first);

/** Decimals that show the largest mass of the job with four digits. */
int cm_mass_decimals(const cm_job *job);

/** Any mass on the rotor now, and any among them that cannot come off. */
bool cm_anything_on(const cm_job *job);
bool cm_anything_stays(const cm_job *job);

/** ", radius 260 mm,"; nothing where the case has no radius. */
const char *cm_at_radius(cm_session *session, const cm_job *job, int plane);

/** Sentences: what is on the rotor now; what force and rim speed rest on. */
void cm_say_on_rotor(cm_document *d, const cm_job *job);
void cm_say_overspeed(cm_document *d, const cm_job *job);

/** The masses of one way as a table with force and rim speed. */
void cm_mount_table(cm_document *d, const cm_job *job, const double complex *mass);

#endif
