/* SPDX-License-Identifier: MIT */
/* The commented case to start from. Machine and readings are invented. */
#include "countermass/case.h"

#include "base/session.h"

static const char TEMPLATE[] =
    "# A case to start from: replace what is here by what you have.\n"
    "# `countermass solve FILE` gives masses and predicted vibration, `countermass check FILE` judges the "
    "evidence.\n"
    "case:\n"
    "  format: 1\n"
    "  title: Cooling-water pump and motor\n"
    "\n"
    "# Both conventions must be stated: mixing them up mirrors every answer.\n"
    "conventions:\n"
    "  phase: lag                      # lag or lead\n"
    "  mass_angle: against-rotation    # with-rotation or against-rotation\n"
    "  rotation: clockwise             # seen from seen_from\n"
    "  seen_from: drive end\n"
    "\n"
    "# What a bare number means; a number may carry its own unit, such as 8.5 mil pp.\n"
    "units: {speed: rpm, mass: g, length: mm, vibration: um pp}\n"
    "\n"
    "speeds:\n"
    "  - {id: service, speed: 2980}\n"
    "\n"
    "# limit: the amplitude to stay below. repeatability: how well a reading comes back.\n"
    "sensors:\n"
    "  - {id: drive end, position: 0, angle: 45, limit: 40, repeatability: 1}\n"
    "  - {id: free end, position: 1200, angle: 45, limit: 40, repeatability: 1}\n"
    "\n"
    "# cap: the most mass the plane can carry in total.\n"
    "planes:\n"
    "  - {id: coupling side, position: 150, radius: 180, cap: 120}\n"
    "  - {id: fan side, position: 1050, radius: 180, cap: 120}\n"
    "\n"
    "# The runs in the order made. masses: everything that was added since as-found.\n"
    "runs:\n"
    "  - id: as-found\n"
    "    readings:\n"
    "      service: {drive end: 74 @ 152, free end: 58 @ 231}\n"
    "  - id: trial on the coupling side\n"
    "    masses: [{plane: coupling side, mass: 30, angle: 0}]\n"
    "    readings:\n"
    "      service: {drive end: 61 @ 129, free end: 55 @ 223}\n"
    "  - id: trial on the fan side\n"
    "    masses: [{plane: fan side, mass: 30, angle: 0}]\n"
    "    readings:\n"
    "      service: {drive end: 70 @ 145, free end: 38 @ 214}\n"
    "\n"
    "# What is on the rotor now, if that is not what the last run carried.\n"
    "now: {masses: []}\n"
    "\n"
    "# For editors; `countermass schema --output case-schema.json` writes the schema.\n"
    "# yaml-language-server: $schema=case-schema.json\n"
    "\n"
    "objective:\n"
    "  minimise: least-squares\n"
    "  base: as-found                  # the run from which the prediction starts\n";

cm_status cm_case_new(cm_session *session, const char **yaml)
{
    CM_ENTER(session);
    *yaml = TEMPLATE;
    return cm_leave(session);
}
