/* SPDX-License-Identifier: MIT */
/* The keys of the case file. Rows stand in the order in which they are read: what others refer to comes
 * first. */
#include "case/keys.h"
#include "case/refer.h"
#include "case/sections.h"
#include "case/values.h"

#include <math.h>

#define COUNT_OF(rows) ((int)(sizeof(rows) / sizeof *(rows)))
#define SECTION_ROWS(rows) .count = COUNT_OF(rows), .keys = (rows)
#define KEPT(type, member) .offset = offsetof(type, member)
#define CHECKED_ONLY .offset = CM_NOWHERE

/* ---- shapes, measures, ranges ---- */

#define NUMBER_PATTERN "[+-]?[0-9]+(\\.[0-9]+)?([eE][+-]?[0-9]+)?"
#define UNIT_PATTERN "( *[a-z%][a-zA-Z0-9/% -]*)?"
#define NO_FORM .list_of = CM_SHAPE_COUNT, .map_of = CM_SHAPE_COUNT

const cm_shape_row CM_SHAPES[CM_SHAPE_COUNT] = {
    [CM_SHAPE_TEXT] = {"text", "text", cm_read_text, "string number boolean", NULL, NO_FORM},
    [CM_SHAPE_TEXTS] = {"texts", "text or a list of texts", cm_read_texts, "string number boolean", NULL,
                        .list_of = CM_SHAPE_TEXT, .map_of = CM_SHAPE_COUNT},
    [CM_SHAPE_ID] = {"id", "id: any text", cm_read_id, "string number boolean", NULL, NO_FORM},
    [CM_SHAPE_NUMBER] = {"number", "number", cm_read_number, "number string",
                         "^" NUMBER_PATTERN UNIT_PATTERN "$", NO_FORM},
    [CM_SHAPE_PHASOR] = {"phasor", "phasor: number [unit] @ degrees", cm_read_phasor, "string",
                         "^" NUMBER_PATTERN UNIT_PATTERN " *@ *" NUMBER_PATTERN "$", NO_FORM},
    [CM_SHAPE_BOOLEAN] = {"boolean", "true or false", cm_read_boolean, "boolean", NULL, NO_FORM},
    [CM_SHAPE_CHOICE] = {"choice", "one of the names listed", cm_read_choice, "string", NULL, NO_FORM},
    [CM_SHAPE_UNIT] = {"unit", "name of a unit", cm_read_unit, "string", NULL, NO_FORM},
    [CM_SHAPE_PLANE] = {"plane", "id of a plane", cm_read_plane, "string number boolean", NULL, NO_FORM},
    [CM_SHAPE_SPEED] = {"speed_id", "id of a speed", cm_read_speed, "string number boolean", NULL, NO_FORM},
    [CM_SHAPE_SENSOR] = {"sensor", "id of a sensor", cm_read_sensor, "string number boolean", NULL, NO_FORM},
    [CM_SHAPE_RUN] = {"run", "id of a run", cm_read_run, "string number boolean", NULL, NO_FORM},
    [CM_SHAPE_MAP] = {"map", "map of keys", cm_read_map, NULL, NULL, NO_FORM},
    [CM_SHAPE_LIST] = {"list", "list of maps", cm_read_list, NULL, NULL, NO_FORM},
    [CM_SHAPE_PER_SPEED] = {"per_speed", "number, or a map of one number per speed", cm_read_per_speed,
                            "number string", "^" NUMBER_PATTERN UNIT_PATTERN "$", .list_of = CM_SHAPE_COUNT,
                            .map_of = CM_SHAPE_NUMBER},
    [CM_SHAPE_BY_SPEED] = {"by_speed", "map of one number per speed", cm_read_by_speed, NULL, NULL,
                           .list_of = CM_SHAPE_COUNT, .map_of = CM_SHAPE_NUMBER},
    [CM_SHAPE_NUMBER_BY_PLANE] = {"number_by_plane", "map of one number per plane", NULL, NULL, NULL,
                                  .list_of = CM_SHAPE_COUNT, .map_of = CM_SHAPE_NUMBER},
    [CM_SHAPE_PHASOR_BY_PLANE] = {"by_plane", "map of one phasor per plane", NULL, NULL, NULL,
                                  .list_of = CM_SHAPE_COUNT, .map_of = CM_SHAPE_PHASOR},
    [CM_SHAPE_PHASOR_BY_SENSOR] = {"by_sensor", "map of one phasor per sensor", NULL, NULL, NULL,
                                   .list_of = CM_SHAPE_COUNT, .map_of = CM_SHAPE_PHASOR},
    [CM_SHAPE_PHASORS] = {"readings", "phasor, or a list of repeated ones", NULL, "string",
                          "^" NUMBER_PATTERN UNIT_PATTERN " *@ *" NUMBER_PATTERN "$",
                          .list_of = CM_SHAPE_PHASOR, .map_of = CM_SHAPE_COUNT},
    [CM_SHAPE_PHASORS_BY_SENSOR] = {"readings_by_sensor", "map of readings per sensor, or a file", NULL, "string", NULL,
                                    .list_of = CM_SHAPE_COUNT, .map_of = CM_SHAPE_PHASORS},
    [CM_SHAPE_READINGS] = {"readings_by_speed", "map per speed of a map of readings per sensor",
                           cm_read_readings, NULL, NULL, .list_of = CM_SHAPE_COUNT,
                           .map_of = CM_SHAPE_PHASORS_BY_SENSOR},
    [CM_SHAPE_PLANES] = {"plane_list", "list of ids of planes", cm_read_use_planes, NULL, NULL,
                         .list_of = CM_SHAPE_PLANE, .map_of = CM_SHAPE_COUNT},
    [CM_SHAPE_SENSORS] = {"sensor_list", "list of ids of sensors", cm_read_sensors, NULL, NULL,
                          .list_of = CM_SHAPE_SENSOR, .map_of = CM_SHAPE_COUNT},
    [CM_SHAPE_SPEEDS] = {"speed_list", "list of ids of speeds", cm_read_speed_list, NULL, NULL,
                         .list_of = CM_SHAPE_SPEED, .map_of = CM_SHAPE_COUNT},
    [CM_SHAPE_ROW] = {"row", "[sensor, speed]", NULL, NULL, NULL, .list_of = CM_SHAPE_ID,
                      .map_of = CM_SHAPE_COUNT},
    [CM_SHAPE_ROWS] = {"rows", "list of [sensor, speed]", cm_read_drop_rows, NULL, NULL,
                       .list_of = CM_SHAPE_ROW, .map_of = CM_SHAPE_COUNT},
    [CM_SHAPE_SHIFT] = {"shift", "number, or `unknown`", NULL, "number string", "^(unknown|" NUMBER_PATTERN ")$",
                        NO_FORM},
    [CM_SHAPE_UNCERTAINTY] = {"uncertainty",
                              "number, a percentage of the value, or a map {size, phase, common}",
                              cm_read_uncertainty, "number string", "^" NUMBER_PATTERN UNIT_PATTERN "$",
                              NO_FORM},
    [CM_SHAPE_INFLUENCE_ERROR] = {"influence_error", "plain number, or text such as `5 % each`",
                                  cm_read_influence_error, "number string",
                                  "^" NUMBER_PATTERN "( *% *each)?$", NO_FORM},
    [CM_SHAPE_TOLERANCE] = {"tolerance",
                            "percentage, number in the value's unit, or a map of these per field",
                            cm_read_tolerance, "number string", "^" NUMBER_PATTERN UNIT_PATTERN "$", NO_FORM},
    [CM_SHAPE_VALUE] = {"expected_value", "phasor, or a map {amplitude, phase}", cm_read_expected_value,
                        "string", "^" NUMBER_PATTERN UNIT_PATTERN " *@ *" NUMBER_PATTERN "$", NO_FORM},
};

const cm_measure_row CM_MEASURES[CM_MEASURE_COUNT] = {
    [CM_MEASURE_PLAIN] = {CM_ANGLE, "a plain number", CM_NOWHERE, 1},
    [CM_MEASURE_DEGREES] = {CM_ANGLE, "an angle in degrees", CM_NOWHERE, 1},
    [CM_MEASURE_SHARE] = {CM_SHARE, "a share", CM_NOWHERE, 1},
    [CM_MEASURE_SPEED] = {CM_SPEED, "a speed", offsetof(cm_case, speed_unit), 1},
    [CM_MEASURE_MASS] = {CM_MASS, "a mass", offsetof(cm_case, mass_unit), 1},
    [CM_MEASURE_LENGTH] = {CM_LENGTH, "a length", offsetof(cm_case, length_unit), 1},
    [CM_MEASURE_FORCE] = {CM_FORCE, "a force", CM_NOWHERE, 1},
    [CM_MEASURE_LOAD] = {CM_POWER, "a load", CM_NOWHERE, 1e6},
    [CM_MEASURE_VIBRATION] = {CM_DISPLACEMENT, "a vibration amplitude", offsetof(cm_case, vibration_unit), 1},
    [CM_MEASURE_ANY] = {CM_ANGLE, "a number", CM_NOWHERE, 1},
};

const cm_range_row CM_RANGES[CM_RANGE_COUNT] = {
    [CM_ANY_VALUE] = {"a finite number", -HUGE_VAL, HUGE_VAL, false},
    [CM_ABOVE_ZERO] = {"above 0", 0, HUGE_VAL, true},
    [CM_NOT_NEGATIVE] = {"0 or more", 0, HUGE_VAL, false},
    [CM_ZERO_TO_ONE] = {"from 0 to 1", 0, 1, false},
};

/* ---- case, conventions, units, rotor ---- */

static const cm_key CASE_KEYS[] = {
    {.name = "format",
     .shape = CM_SHAPE_TEXT,
     .required = true,
     .example = "1",
     .read = cm_read_format,
     CHECKED_ONLY,
     .about = "version of the case file; this program reads format 1"},
    {.name = "title",
     .shape = CM_SHAPE_TEXT,
     .fallback = "the file's name",
     .example = "Circulation pump and motor",
     .about = "what the results are headed with",
     KEPT(cm_case, title)},
    {.name = "machine", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "the machine"},
    {.name = "serial", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "its serial number"},
    {.name = "place", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "where it stands"},
    {.name = "customer", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "for whom the job is done"},
    {.name = "by", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "who does it"},
    {.name = "date", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .example = "2026-03-14", .about = "when"},
    {.name = "instruments", .shape = CM_SHAPE_TEXTS, CHECKED_ONLY, .about = "what was measured with"},
    {.name = "notes", .shape = CM_SHAPE_TEXTS, CHECKED_ONLY, .about = "anything worth keeping"},
    {.name = "hours_per_start",
     .shape = CM_SHAPE_NUMBER,
     .range = CM_NOT_NEGATIVE,
     CHECKED_ONLY,
     .example = "6",
     .about = "hours that one more start costs"},
};
static const cm_section CASE_SECTION = {
    .name = "case", .about = "What the file is about.", SECTION_ROWS(CASE_KEYS)};

static const char *const PHASES[] = {"lead", "lag", NULL};
static const char *const MASS_ANGLES[] = {"with-rotation", "against-rotation", NULL};
static const char *const ROTATIONS[] = {"clockwise", "counter-clockwise", NULL};
static const cm_key CONVENTION_KEYS[] = {
    {.name = "phase",
     .shape = CM_SHAPE_CHOICE,
     .required = true,
     .choices = PHASES,
     .example = "lag",
     KEPT(cm_case, phase_lag),
     .read = cm_read_direction,
     .about = "whether the phase of a reading is a lag or a lead; there is no default, because mixing them "
              "up mirrors every answer"},
    {.name = "mass_angle",
     .shape = CM_SHAPE_CHOICE,
     .required = true,
     .choices = MASS_ANGLES,
     .example = "against-rotation",
     .read = cm_read_direction,
     KEPT(cm_case, against_rotation),
     .about = "which way the angles of masses and planes are counted from the reference mark; no default"},
    {.name = "rotation",
     .shape = CM_SHAPE_CHOICE,
     .choices = ROTATIONS,
     .example = "clockwise",
     .read = cm_read_rotation,
     CHECKED_ONLY,
     .about = "direction of rotation, seen from `seen_from`"},
    {.name = "seen_from",
     .shape = CM_SHAPE_TEXT,
     .example = "drive end",
     KEPT(cm_case, seen_from),
     .about = "from where the rotation is seen"},
};
static const cm_section CONVENTION_SECTION = {
    .name = "conventions", .about = "How angles are counted. Always needed.", SECTION_ROWS(CONVENTION_KEYS)};

static const cm_key UNIT_KEYS[] = {
    {.name = "speed",
     .shape = CM_SHAPE_UNIT,
     .measure = CM_MEASURE_SPEED,
     .fallback = "rpm",
     .example = "rpm",
     KEPT(cm_case, speed_unit),
     .about = "rpm, Hz or rad/s"},
    {.name = "mass",
     .shape = CM_SHAPE_UNIT,
     .measure = CM_MEASURE_MASS,
     .fallback = "g",
     .example = "g",
     KEPT(cm_case, mass_unit),
     .about = "g, kg, oz or lb"},
    {.name = "length",
     .shape = CM_SHAPE_UNIT,
     .measure = CM_MEASURE_LENGTH,
     .fallback = "mm",
     .example = "mm",
     KEPT(cm_case, length_unit),
     .about = "mm, m or in"},
    {.name = "vibration",
     .shape = CM_SHAPE_UNIT,
     .measure = CM_MEASURE_VIBRATION,
     .fallback = "um pp",
     .example = "um pp",
     KEPT(cm_case, vibration_unit),
     .about = "um, mm or mil with pp, pk or rms; mm/s or in/s with pk or rms; m/s2 or g with pk or rms"},
};
static const cm_section UNIT_SECTION = {
    .name = "units",
    .about = "What a bare number means. Any number may carry its own unit instead.",
    SECTION_ROWS(UNIT_KEYS)};

static const cm_key BEARING_KEYS[] = {
    {.name = "id", .shape = CM_SHAPE_ID, .required = true, .example = "drive end", KEPT(cm_bearing, id),
     .about = "name of the bearing"},
    {.name = "position", .shape = CM_SHAPE_NUMBER, .measure = CM_MEASURE_LENGTH, .example = "0",
     KEPT(cm_bearing, position), .about = "axial position"},
    {.name = "static_load", .shape = CM_SHAPE_NUMBER, .measure = CM_MEASURE_FORCE, .example = "13.2 kN",
     KEPT(cm_bearing, static_load), .about = "static load on the bearing, upwards on the rotor; a lifted bearing has a negative one"},
};
static const char *const BEARING_LATER[] = {"stiffness", "damping", "at", "pedestal", NULL};
static const cm_section BEARING_SECTION = {
    .name = "bearings", .about = "The bearings of the rotor.", .later = BEARING_LATER, .begin = cm_begin_bearing,
    .end = cm_end_bearing, SECTION_ROWS(BEARING_KEYS)};

static const char *const KEY_CONVENTIONS[] = {"unsaid", "half-key", "full-key", "no-key", NULL};
static const cm_key ROTOR_KEYS[] = {
    {.name = "mass", .shape = CM_SHAPE_NUMBER, .measure = CM_MEASURE_MASS, .range = CM_ABOVE_ZERO, .example = "3600 kg",
     KEPT(cm_case, rotor.mass), .about = "mass of the rotor"},
    {.name = "grade", .shape = CM_SHAPE_TEXT, .example = "G2.5", .read = cm_read_grade, KEPT(cm_case, rotor.grade),
     .about = "balance quality grade of ISO 21940-11"},
    {.name = "mass_centre", .shape = CM_SHAPE_NUMBER, .measure = CM_MEASURE_LENGTH, .example = "1500",
     .fallback = "from the static loads of two bearings", KEPT(cm_case, rotor.mass_centre),
     .about = "axial position of the centre of mass"},
    {.name = "first_resonance", .shape = CM_SHAPE_NUMBER, .measure = CM_MEASURE_SPEED, .range = CM_ABOVE_ZERO,
     .example = "5200", KEPT(cm_case, rotor.first_resonance),
     .about = "lowest resonance speed of the rotor on its bearings; tells where it behaves rigidly"},
    {.name = "amplification", .shape = CM_SHAPE_NUMBER, .range = CM_ABOVE_ZERO, .example = "5",
     KEPT(cm_case, rotor.amplification), .about = "amplification factor of that resonance"},
    {.name = "key_convention", .shape = CM_SHAPE_CHOICE, .choices = KEY_CONVENTIONS, .fallback = "unsaid",
     .example = "half-key", KEPT(cm_case, rotor.key_convention), .about = "with which keys the rotor was balanced (ISO 21940-32)"},
    {.name = "bearings", .shape = CM_SHAPE_LIST, .section = &BEARING_SECTION, KEPT(cm_case, rotor),
     .example = "[{id: drive end, position: 0, static_load: 13.2 kN}]", .about = "the bearings"},
    {.name = "service_speed",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_SPEED,
     .range = CM_ABOVE_ZERO,
     .example = "3000",
     KEPT(cm_case, service_speed),
     .about = "speed in service"},
    {.name = "overspeed",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_SPEED,
     .range = CM_ABOVE_ZERO,
     .fallback = "1.1 times the highest of service_speed and the case's speeds",
     .example = "3300",
     KEPT(cm_case, overspeed),
     .about = "speed for which forces and rim speeds of masses are given"},
};
static const char *const ROTOR_LATER[] = {"shaft_start", "shaft", "materials", "shear", "disks", NULL};
static const cm_section ROTOR_SECTION = {
    .name = "rotor", .about = "The rotor as a whole.", .later = ROTOR_LATER, SECTION_ROWS(ROTOR_KEYS)};

/* ---- speeds, sensors, planes ---- */

static const cm_key SPEED_KEYS[] = {
    {.name = "id",
     .shape = CM_SHAPE_ID,
     .required = true,
     .example = "service",
     KEPT(cm_speed, id),
     .about = "name of the speed; `csv` is reserved"},
    {.name = "speed",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_SPEED,
     .range = CM_ABOVE_ZERO,
     .example = "3000",
     KEPT(cm_speed, omega),
     .about = "rotation speed; needed to solve"},
    {.name = "weight",
     .shape = CM_SHAPE_NUMBER,
     .range = CM_NOT_NEGATIVE,
     .fallback = "1",
     .example = "0.5",
     KEPT(cm_speed, weight),
     .about = "how much readings at this speed count"},
    {.name = "load",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_LOAD,
     .range = CM_NOT_NEGATIVE,
     .example = "300 MW",
     KEPT(cm_speed, load),
     .about = "load of the machine in this state; MW when bare"},
    {.name = "coefficients_of",
     .shape = CM_SHAPE_ID,
     .fallback = "its own",
     .example = "service",
     .read = cm_read_state_of,
     CHECKED_ONLY,
     .about = "speed of which this is another operating state: readings of its own, the same influence coefficients"},
};
static const cm_section SPEED_SECTION = {.name = "speeds",
                                         .about = "The speeds at which readings are taken.",
                                         .begin = cm_begin_speed,
                                         .end = cm_end_speed,
                                         SECTION_ROWS(SPEED_KEYS)};

static const char *const KINDS[] = {"unsaid", "shaft-relative", "shaft-absolute", "housing", NULL};
static const cm_key SENSOR_KEYS[] = {
    {.name = "id",
     .shape = CM_SHAPE_ID,
     .required = true,
     .example = "DE-x",
     KEPT(cm_sensor, id),
     .about = "name of the sensor"},
    {.name = "unit",
     .shape = CM_SHAPE_UNIT,
     .measure = CM_MEASURE_VIBRATION,
     .fallback = "units.vibration",
     .example = "um pp",
     .read = cm_read_sensor_unit,
     KEPT(cm_sensor, unit),
     .about = "unit of this sensor's readings, limits and coefficients"},
    {.name = "position",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_LENGTH,
     .example = "0",
     KEPT(cm_sensor, position),
     .about = "axial position"},
    {.name = "angle",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_DEGREES,
     .example = "45",
     .read = cm_read_turn,
     KEPT(cm_sensor, angle),
     .about = "degrees in the direction of rotation from top dead centre"},
    {.name = "kind",
     .shape = CM_SHAPE_CHOICE,
     .choices = KINDS,
     .fallback = "unsaid",
     .example = "shaft-relative",
     KEPT(cm_sensor, kind),
     .about = "what the sensor measures"},
    {.name = "limit",
     .shape = CM_SHAPE_PER_SPEED,
     .measure = CM_MEASURE_VIBRATION,
     .range = CM_ABOVE_ZERO,
     .fallback = "none",
     .example = "60",
     KEPT(cm_sensor, limit),
     .about = "amplitude to stay below; readings are weighed by it"},
    {.name = "weight",
     .shape = CM_SHAPE_PER_SPEED,
     .range = CM_NOT_NEGATIVE,
     .fallback = "1",
     .example = "1",
     KEPT(cm_sensor, weight),
     .about = "how much its readings count; 0: predicted, not counted"},
    {.name = "alarm",
     .shape = CM_SHAPE_PER_SPEED,
     .measure = CM_MEASURE_VIBRATION,
     .range = CM_ABOVE_ZERO,
     .fallback = "none",
     .example = "120",
     KEPT(cm_sensor, alarm),
     .about = "alarm amplitude"},
    {.name = "trip",
     .shape = CM_SHAPE_PER_SPEED,
     .measure = CM_MEASURE_VIBRATION,
     .range = CM_ABOVE_ZERO,
     .fallback = "none",
     .example = "160",
     KEPT(cm_sensor, trip),
     .about = "trip amplitude"},
    {.name = "repeatability",
     .shape = CM_SHAPE_PER_SPEED,
     .measure = CM_MEASURE_VIBRATION,
     .range = CM_ABOVE_ZERO,
     .fallback = "estimated",
     .example = "1.5",
     KEPT(cm_sensor, repeatability),
     .about = "scatter of one reading: the root mean square of the complex error"},
};
static const cm_section SENSOR_SECTION = {.name = "sensors",
                                          .about = "The sensors whose once-per-turn phasors are read.",
                                          .begin = cm_begin_sensor,
                                          .end = cm_end_sensor,
                                          SECTION_ROWS(SENSOR_KEYS)};

static const cm_key PIECE_KEYS[] = {
    {.name = "mass", .shape = CM_SHAPE_NUMBER, .required = true, .measure = CM_MEASURE_MASS, .range = CM_ABOVE_ZERO,
     .example = "20", KEPT(cm_piece, mass), .about = "mass of one piece"},
    {.name = "stock", .shape = CM_SHAPE_NUMBER, .range = CM_NOT_NEGATIVE, .fallback = "any number", .example = "12",
     .read = cm_read_stock, KEPT(cm_piece, stock), .about = "how many there are"},
};
static const char *const PIECE_LATER[] = {"replaces", NULL};
static const cm_section PIECE_SECTION = {.name = "pieces", .about = "The real pieces of mass that a plane takes.",
                                         .later = PIECE_LATER, .begin = cm_begin_piece, SECTION_ROWS(PIECE_KEYS)};

static const cm_key PLANE_KEYS[] = {
    {.name = "id",
     .shape = CM_SHAPE_ID,
     .required = true,
     .example = "P1",
     KEPT(cm_plane, id),
     .about = "name of the correction plane"},
    {.name = "position",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_LENGTH,
     .example = "400",
     KEPT(cm_plane, position),
     .about = "axial position"},
    {.name = "radius",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_LENGTH,
     .range = CM_ABOVE_ZERO,
     .example = "260",
     KEPT(cm_plane, radius),
     .about = "radius at which its masses sit"},
    {.name = "zero",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_DEGREES,
     .fallback = "0",
     .example = "30",
     .read = cm_read_zero,
     KEPT(cm_plane, zero),
     .about = "angle from the reference mark to the plane's own zero, in the direction of `mass_angle`"},
    {.name = "cap",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_MASS,
     .range = CM_NOT_NEGATIVE,
     .fallback = "none",
     .example = "150",
     .read = cm_read_cap,
     KEPT(cm_plane, cap),
     .about = "greatest total mass"},
    {.name = "cap_force",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_FORCE,
     .range = CM_NOT_NEGATIVE,
     .fallback = "none",
     .example = "4 kN",
     KEPT(cm_plane, cap_force),
     .about = "greatest force of the total mass at overspeed; N when bare"},
    {.name = "change_cap",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_MASS,
     .range = CM_NOT_NEGATIVE,
     .fallback = "none",
     .example = "80",
     KEPT(cm_plane, change_cap),
     .about = "greatest change from what is on the rotor now"},
    {.name = "pieces", .shape = CM_SHAPE_LIST, .section = &PIECE_SECTION, .offset = 0,
     .example = "[{mass: 20, stock: 12}]", .about = "pieces of mass that `trial` chooses from"},
    {.name = "turns_by", .shape = CM_SHAPE_NUMBER, .measure = CM_MEASURE_DEGREES, .range = CM_ABOVE_ZERO,
     .fallback = "it cannot be turned", .example = "45", .read = cm_read_turns_by, CHECKED_ONLY,
     .about = "step by which the part at this plane (coupling half, spool) can be refitted against the rotor"},
};
static const char *const PLANE_LATER[] = {"sites", "installed", "action", "groove", "drill", NULL};
static const cm_section PLANE_SECTION = {.name = "planes",
                                         .about = "Where masses can be added or removed.",
                                         .later = PLANE_LATER,
                                         .begin = cm_begin_plane,
                                         .end = cm_end_plane,
                                         SECTION_ROWS(PLANE_KEYS)};

/* ---- sets ---- */

static const cm_key SET_KEYS[] = {
    {.name = "id", .shape = CM_SHAPE_ID, .required = true, .example = "static", KEPT(cm_bundle, id),
     .about = "name of the set; sets and planes share their names"},
    {.name = "of", .shape = CM_SHAPE_PHASOR_BY_PLANE, .required = true, .read = cm_read_ratios, CHECKED_ONLY,
     .example = "{P1: 1 @ 0, P2: 1 @ 0}",
     .about = "mass on each plane for one unit of the set, angles from the reference mark"},
};
static const cm_section SET_SECTION = {
    .name = "sets",
    .about = "Planes that take masses in a fixed ratio: static, couple, modal sets. A set may stand where a plane does in "
             "the masses of runs and `now`, in `use_planes` and in `fixed`; its angles count from the reference mark.",
    .begin = cm_begin_set, .end = cm_end_set, SECTION_ROWS(SET_KEYS)};

/* ---- runs, masses ---- */

static const cm_key MASS_KEYS[] = {
    {.name = "plane",
     .shape = CM_SHAPE_PLANE,
     .required = true,
     .example = "P1",
     .read = cm_read_part,
     KEPT(cm_mass_entry, plane),
     .about = "the plane it sits on, or a set"},
    {.name = "mass",
     .shape = CM_SHAPE_NUMBER,
     .required = true,
     .measure = CM_MEASURE_MASS,
     .example = "80",
     KEPT(cm_mass_entry, mass),
     .about = "how much; negative: removed"},
    {.name = "angle",
     .shape = CM_SHAPE_NUMBER,
     .required = true,
     .measure = CM_MEASURE_DEGREES,
     .example = "0",
     KEPT(cm_mass_entry, angle),
     .about = "from the plane's own zero, in the direction of `mass_angle`"},
    {.name = "radius",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_LENGTH,
     .range = CM_ABOVE_ZERO,
     .fallback = "the plane's radius",
     .example = "255",
     KEPT(cm_mass_entry, radius),
     .about = "where it sits, if not at the plane's radius"},
    {.name = "stays",
     .shape = CM_SHAPE_BOOLEAN,
     .fallback = "false",
     .example = "true",
     KEPT(cm_mass_entry, stays),
     .about = "cannot be taken off again; counts against the cap"},
};
static const char *const MASS_LATER[] = {"site", NULL};
static const cm_section MASS_SECTION = {
    .name = "masses",
    .about = "Everything added since as-found; several entries on one plane add up.",
    .later = MASS_LATER,
    .begin = cm_begin_mass,
    .end = cm_end_mass,
    SECTION_ROWS(MASS_KEYS)};

static const char *const TAKEN[] = {"unsaid", "holding", "run-up", "run-down", NULL};
static const cm_key LEAVE_OUT_KEYS[] = {
    {.name = "sensors", .shape = CM_SHAPE_SENSORS, .fallback = "all", .example = "[4y]",
     KEPT(cm_leave_out, sensors), .about = "sensors whose readings are not used"},
    {.name = "speeds", .shape = CM_SHAPE_SPEEDS, .fallback = "all", .example = "[service]",
     KEPT(cm_leave_out, speeds), .about = "speeds at which they are not used"},
    {.name = "because", .shape = CM_SHAPE_TEXT, .required = true, .example = "cable",
     KEPT(cm_leave_out, because), .about = "the reason"},
};
static const cm_section LEAVE_OUT_SECTION = {.name = "leave_out",
                                             .about = "Readings that stay in the file but are not used.",
                                             SECTION_ROWS(LEAVE_OUT_KEYS)};

static const cm_key RUN_KEYS[] = {
    {.name = "id",
     .shape = CM_SHAPE_ID,
     .required = true,
     .example = "trial on P1",
     KEPT(cm_run, id),
     .about = "name of the run"},
    {.name = "masses",
     .shape = CM_SHAPE_LIST,
     .section = &MASS_SECTION,
     .fallback = "none",
     .example = "[{plane: P1, mass: 80, angle: 0}]",
     KEPT(cm_run, masses),
     .about = "what was on the rotor, counted from as-found"},
    {.name = "after",
     .shape = CM_SHAPE_ID,
     .fallback = "the run before, when there is `added`",
     .example = "trial on P1",
     .read = cm_read_after,
     CHECKED_ONLY,
     .about = "run whose masses were on the rotor when `added` came on top; instead of `masses`"},
    {.name = "added",
     .shape = CM_SHAPE_LIST,
     .section = &MASS_SECTION,
     .fallback = "none",
     .example = "[{plane: P2, mass: 60, angle: 15}]",
     KEPT(cm_run, masses),
     .about = "what was added then; instead of `masses`"},
    {.name = "turned", .shape = CM_SHAPE_NUMBER_BY_PLANE, .measure = CM_MEASURE_DEGREES, .read = cm_read_turned,
     .fallback = "nothing was turned", .example = "{P3: 180}", CHECKED_ONLY,
     .about = "angle from as-found of parts with `turns_by` in this run, in the direction of `mass_angle`; such a run "
              "serves `planes` only"},
    {.name = "slow_roll",
     .shape = CM_SHAPE_PHASOR_BY_SENSOR,
     .measure = CM_MEASURE_VIBRATION,
     .read = cm_read_run_slow_roll,
     .fallback = "that of the case",
     .example = "{DE-x: 4 @ 10}",
     CHECKED_ONLY,
     .about = "subtracted from the readings of this run"},
    {.name = "leave_out",
     .shape = CM_SHAPE_MAP,
     .section = &LEAVE_OUT_SECTION,
     KEPT(cm_run, leave_out),
     .example = "{sensors: [DE-x], because: cable}",
     .about = "readings that are not used, and why"},
    {.name = "taken",
     .shape = CM_SHAPE_CHOICE,
     .choices = TAKEN,
     .fallback = "unsaid",
     .example = "holding",
     KEPT(cm_run, taken),
     .about = "how the readings were taken"},
    {.name = "at", .shape = CM_SHAPE_TEXT, .example = "2026-03-14 02:40", KEPT(cm_run, at), .about = "when"},
    {.name = "load",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_LOAD,
     .range = CM_NOT_NEGATIVE,
     .example = "300 MW",
     KEPT(cm_run, load),
     .about = "load of the machine; MW when bare"},
    {.name = "group",
     .shape = CM_SHAPE_TEXT,
     .fallback = "all runs without one are together",
     .example = "hot",
     KEPT(cm_run, group),
     .about = "runs with one reference level: readings of different groups may differ by a constant of each row, and "
              "answers are for the group of the last run"},
    {.name = "phase_shift",
     .shape = CM_SHAPE_SHIFT,
     .fallback = "0",
     .example = "unknown",
     .read = cm_read_phase_shift,
     CHECKED_ONLY,
     .about = "degrees by which all phases of this run read too high because the phase reference moved; `unknown`: "
              "estimated from readings in a state of masses that another run had"},
    {.name = "notes", .shape = CM_SHAPE_TEXTS, .read = cm_read_notes, CHECKED_ONLY, .about = "anything worth keeping"},
    {.name = "actual_speed",
     .shape = CM_SHAPE_BY_SPEED,
     .measure = CM_MEASURE_SPEED,
     .range = CM_ABOVE_ZERO,
     .example = "{service: 2994}",
     KEPT(cm_run, actual_speed),
     .about = "the speed really held"},
    {.name = "readings",
     .shape = CM_SHAPE_READINGS,
     .measure = CM_MEASURE_VIBRATION,
     .example = "{service: {DE-x: 82 @ 143}}",
     CHECKED_ONLY,
     .about = "once-per-turn amplitude and phase; a list is repeated readings, which count once, as their mean; "
              "`csv: FILE` takes the lines of this run from a table beside the case with the columns run, speed, sensor, "
              "amplitude, phase"},
};
static const cm_section RUN_SECTION = {.name = "runs",
                                       .about = "Starts with steady readings, in the order made.",
                                       .begin = cm_begin_run,
                                       .end = cm_end_run,
                                       SECTION_ROWS(RUN_KEYS)};

static const cm_key NOW_KEYS[] = {
    {.name = "masses",
     .shape = CM_SHAPE_LIST,
     .required = true,
     .section = &MASS_SECTION,
     .example = "[]",
     KEPT(cm_case, now),
     .about = "what is on the rotor now, counted from as-found"},
};
static const cm_section NOW_SECTION = {
    .name = "now",
    .about = "What is on the rotor now, if that is not what the last run carried.",
    SECTION_ROWS(NOW_KEYS)};

/* ---- known coefficients ---- */

static const cm_key UNCERTAINTY_KEYS[] = {
    {.name = "size",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_SHARE,
     .range = CM_NOT_NEGATIVE,
     .fallback = "0",
     .example = "15 %",
     KEPT(cm_known_entry, size),
     .about = "relative standard deviation of the size"},
    {.name = "phase",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_DEGREES,
     .range = CM_NOT_NEGATIVE,
     .fallback = "0",
     .example = "10",
     KEPT(cm_known_entry, phase),
     .about = "standard deviation of the phase"},
    {.name = "common",
     .shape = CM_SHAPE_NUMBER,
     .measure = CM_MEASURE_SHARE,
     .range = CM_ZERO_TO_ONE,
     .fallback = "0",
     .example = "0.7",
     KEPT(cm_known_entry, common),
     .about = "share of the variance that all sensors of one plane and speed have together"},
};
static const cm_section UNCERTAINTY_SECTION = {.name = "uncertainty",
                                               .about = "Uncertainty of a coefficient relative to it.",
                                               SECTION_ROWS(UNCERTAINTY_KEYS)};

static const cm_key INFLUENCE_KEYS[] = {
    {.name = "record",
     .shape = CM_SHAPE_TEXT,
     .example = "earlier.yaml",
     .read = cm_read_record_name,
     CHECKED_ONLY,
     .about = "an influence record: a file in the folder of the case, or the name of one given with --record-from. "
              "With it stands `uncertainty` only: what the record's own spread is widened by. All else in this "
              "table belongs to single coefficients, which need plane, speed, sensor and value"},
    {.name = "plane",
     .shape = CM_SHAPE_PLANE,
     .example = "P1",
     KEPT(cm_known_entry, plane),
     .about = "the plane"},
    {.name = "speed",
     .shape = CM_SHAPE_SPEED,
     .example = "service",
     KEPT(cm_known_entry, speed),
     .about = "the speed"},
    {.name = "sensor",
     .shape = CM_SHAPE_SENSOR,
     .example = "DE-x",
     .read = cm_read_entry_sensor,
     KEPT(cm_known_entry, sensor),
     .about = "the sensor"},
    {.name = "value",
     .shape = CM_SHAPE_PHASOR,
     .measure = CM_MEASURE_VIBRATION,
     .example = "0.42 @ 210",
     KEPT(cm_known_entry, value),
     .about = "change of the reading that one mass unit at the plane's radius and own angle 0 causes"},
    {.name = "uncertainty",
     .shape = CM_SHAPE_UNCERTAINTY,
     .measure = CM_MEASURE_VIBRATION,
     .range = CM_ABOVE_ZERO,
     .section = &UNCERTAINTY_SECTION,
     .fallback = "exact",
     .example = "0.05",
     KEPT(cm_known_entry, uncertainty),
     .about = "standard deviation of the complex value; with it, the runs correct the value"},
};
static const char *const INFLUENCE_LATER[] = {"model", NULL};
static const cm_section INFLUENCE_SECTION = {.name = "influence",
                                             .about = "Influence coefficients known beforehand.",
                                             .later = INFLUENCE_LATER,
                                             .begin = cm_begin_known,
                                             .end = cm_end_known,
                                             SECTION_ROWS(INFLUENCE_KEYS)};

/* ---- objective ---- */

static const cm_key TIE_KEYS[] = {
    {.name = "terms",
     .shape = CM_SHAPE_PHASOR_BY_PLANE,
     .required = true,
     .read = cm_read_terms,
     .example = "{P1: 1 @ 0, P2: 1 @ 0}",
     CHECKED_ONLY,
     .about = "factor per plane, angles from the reference mark"},
    {.name = "equals",
     .shape = CM_SHAPE_PHASOR,
     .measure = CM_MEASURE_MASS,
     .fallback = "0 @ 0",
     .example = "0 @ 0",
     .read = cm_read_equals,
     KEPT(cm_tie, equals),
     .about = "what the sum of factor times total mass must be"},
};
static const cm_section TIE_SECTION = {.name = "ties",
                                       .about = "Linear equations between the total masses.",
                                       .begin = cm_begin_tie,
                                       .end = cm_end_tie,
                                       SECTION_ROWS(TIE_KEYS)};

static const char *const OBJECTIVES[] = {"least-squares", "min-max",  "least-mass", "least-change",
                                         "worst-case",    "expected", "confidence", NULL};
static const char *const DRIFTS[] = {"none", "linear", NULL};
static const cm_key OBJECTIVE_KEYS[] = {
    {.name = "minimise",
     .shape = CM_SHAPE_CHOICE,
     .choices = OBJECTIVES,
     .fallback = "least-squares",
     .example = "least-squares",
     .read = cm_read_minimise,
     KEPT(cm_case, goal.minimise),
     .about = "what the masses should achieve"},
    {.name = "within_limits",
     .shape = CM_SHAPE_BOOLEAN,
     .fallback = "false",
     .example = "true",
     .read = cm_read_within,
     KEPT(cm_case, goal.within_limits),
     .about = "whether every counted reading must also stay within its limit"},
    {.name = "use_planes",
     .shape = CM_SHAPE_PLANES,
     .fallback = "all",
     .example = "[P1, P2]",
     CHECKED_ONLY,
     .about = "planes and sets whose masses may change; the others keep what is on the rotor now"},
    {.name = "fixed",
     .shape = CM_SHAPE_PHASOR_BY_PLANE,
     .measure = CM_MEASURE_MASS,
     .example = "{P2: 40 @ 15}",
     .read = cm_read_fixed,
     CHECKED_ONLY,
     .about = "planes and sets held at this total mass; wins over use_planes"},
    {.name = "ties",
     .shape = CM_SHAPE_LIST,
     .section = &TIE_SECTION,
     .example = "[{terms: {P1: 1 @ 0, P2: 1 @ 0}, equals: 0 @ 0}]",
     .offset = 0,
     .about = "equations between the total masses"},
    {.name = "base",
     .shape = CM_SHAPE_RUN,
     .fallback = "the last run",
     .example = "trial on P1",
     KEPT(cm_case, goal.base_run),
     .about = "run whose masses are the base state"},
    {.name = "drop_rows",
     .shape = CM_SHAPE_ROWS,
     .fallback = "none",
     .example = "[[FE-x, service]]",
     CHECKED_ONLY,
     .about = "readings that are predicted but not counted"},
    {.name = "drift",
     .shape = CM_SHAPE_CHOICE,
     .choices = DRIFTS,
     .fallback = "none",
     .example = "linear",
     KEPT(cm_case, goal.drift),
     .about = "linear: readings drift evenly from run to run, or in time when every run says `at`; answers are for the "
              "last run"},
    {.name = "influence_error",
     .shape = CM_SHAPE_INFLUENCE_ERROR,
     .range = CM_NOT_NEGATIVE,
     .example = "0.05",
     CHECKED_ONLY,
     .about = "relative error of the influence coefficients that `worst-case` guards against"},
};
static const char *const OBJECTIVE_LATER[] = {"then", NULL};
static const cm_section OBJECTIVE_SECTION = {
    .name = "objective", .about = "What is asked.", .later = OBJECTIVE_LATER, SECTION_ROWS(OBJECTIVE_KEYS)};

/* ---- expected ---- */

#define EXPECTED(key, kind, what, words)                                                                     \
    {                                                                                                        \
        .name = key, .shape = kind, .measure = what, .about = words, CHECKED_ONLY                            \
    }
#define NEEDED(key, kind, words)                                                                             \
    {                                                                                                        \
        .name = key, .shape = kind, .required = true, .about = words, CHECKED_ONLY                           \
    }
#define TOLERANCE_KEY                                                                                        \
    {                                                                                                        \
        .name = "tolerance", .shape = CM_SHAPE_TOLERANCE, .section = &TOLERANCE_SECTION,                     \
        .fallback = "1e-6 of the value", CHECKED_ONLY, .about = "how far the result may be off"              \
    }

#define TOLERANCE_OF(field)                                                                                  \
    {                                                                                                        \
        .name = field, .shape = CM_SHAPE_NUMBER, .measure = CM_MEASURE_ANY, .range = CM_NOT_NEGATIVE,        \
        CHECKED_ONLY, .about = "tolerance of " field                                                         \
    }

static const cm_key TOLERANCE_KEYS[] = {
    TOLERANCE_OF("mass"),    TOLERANCE_OF("angle"), TOLERANCE_OF("amplitude"),
    TOLERANCE_OF("phase"),   TOLERANCE_OF("value"), TOLERANCE_OF("std"),
    TOLERANCE_OF("overall"), TOLERANCE_OF("bound"), TOLERANCE_OF("gap"),
    TOLERANCE_OF("share"), TOLERANCE_OF("eccentricity_um"), TOLERANCE_OF("vibration_limit_um_pp"),
    TOLERANCE_OF("mass_speed_rule"), TOLERANCE_OF("upper"), TOLERANCE_OF("lower"), TOLERANCE_OF("force"),
    TOLERANCE_OF("rim_speed"), TOLERANCE_OF("energy"),
};
static const cm_section TOLERANCE_SECTION = {
    .name = "tolerance",
    .about = "A tolerance for each field: a percentage, or a number in the field's unit.",
    SECTION_ROWS(TOLERANCE_KEYS)};

static const cm_key POLAR_KEYS[] = {
    EXPECTED("amplitude", CM_SHAPE_NUMBER, CM_MEASURE_VIBRATION, "amplitude"),
    EXPECTED("phase", CM_SHAPE_NUMBER, CM_MEASURE_DEGREES, "phase"),
    TOLERANCE_KEY,
};
static const cm_section POLAR_SECTION = {
    .name = "phasor", .about = "A phasor as a map.", SECTION_ROWS(POLAR_KEYS)};

static const cm_key CHANGE_KEYS[] = {
    EXPECTED("mass", CM_SHAPE_NUMBER, CM_MEASURE_MASS, "size"),
    EXPECTED("angle", CM_SHAPE_NUMBER, CM_MEASURE_DEGREES, "angle"),
    TOLERANCE_KEY,
};
static const cm_section CHANGE_SECTION = {
    .name = "change", .about = "A change of mass.", SECTION_ROWS(CHANGE_KEYS)};

static const cm_key CORRECTION_KEYS[] = {
    NEEDED("plane", CM_SHAPE_PLANE, "the plane"),
    EXPECTED("mass", CM_SHAPE_NUMBER, CM_MEASURE_MASS, "total mass"),
    EXPECTED("angle", CM_SHAPE_NUMBER, CM_MEASURE_DEGREES, "its angle"),
    EXPECTED("at_cap", CM_SHAPE_BOOLEAN, CM_MEASURE_PLAIN, "whether a cap binds"),
    {.name = "change",
     .shape = CM_SHAPE_MAP,
     .section = &CHANGE_SECTION,
     CHECKED_ONLY,
     .about = "from what is on the rotor now"},
    TOLERANCE_KEY,
};
static const cm_section CORRECTION_SECTION = {
    .name = "corrections", .about = "Expected total masses.", SECTION_ROWS(CORRECTION_KEYS)};

static const cm_key COEFFICIENT_KEYS[] = {
    NEEDED("plane", CM_SHAPE_PLANE, "the plane"),
    NEEDED("speed", CM_SHAPE_SPEED, "the speed"),
    NEEDED("sensor", CM_SHAPE_SENSOR, "the sensor"),
    {.name = "value",
     .shape = CM_SHAPE_VALUE,
     .measure = CM_MEASURE_VIBRATION,
     .section = &POLAR_SECTION,
     CHECKED_ONLY,
     .about = "the coefficient per mass unit"},
    EXPECTED("std", CM_SHAPE_NUMBER, CM_MEASURE_VIBRATION, "its standard deviation"),
    TOLERANCE_KEY,
};
static const cm_section COEFFICIENT_SECTION = {
    .name = "expected influence", .about = "Expected coefficients.", SECTION_ROWS(COEFFICIENT_KEYS)};

static const cm_key PREDICTED_KEYS[] = {
    NEEDED("speed", CM_SHAPE_SPEED, "the speed"),
    NEEDED("sensor", CM_SHAPE_SENSOR, "the sensor"),
    {.name = "before",
     .shape = CM_SHAPE_VALUE,
     .measure = CM_MEASURE_VIBRATION,
     .section = &POLAR_SECTION,
     CHECKED_ONLY,
     .about = "reading before"},
    {.name = "after",
     .shape = CM_SHAPE_VALUE,
     .measure = CM_MEASURE_VIBRATION,
     .section = &POLAR_SECTION,
     CHECKED_ONLY,
     .about = "reading after"},
    TOLERANCE_KEY,
};
static const cm_section PREDICTED_SECTION = {
    .name = "predicted", .about = "Expected readings.", SECTION_ROWS(PREDICTED_KEYS)};

static const cm_key SPEED_CONDITION_KEYS[] = {
    NEEDED("speed", CM_SHAPE_SPEED, "the speed"),
    EXPECTED("value", CM_SHAPE_NUMBER, CM_MEASURE_PLAIN, "its condition number"),
    TOLERANCE_KEY,
};
static const cm_section SPEED_CONDITION_SECTION = {.name = "by_speed",
                                                   .about = "Expected condition number of one speed.",
                                                   SECTION_ROWS(SPEED_CONDITION_KEYS)};

static const cm_key CONDITION_KEYS[] = {
    EXPECTED("overall", CM_SHAPE_NUMBER, CM_MEASURE_PLAIN, "condition number of all readings"),
    {.name = "by_speed",
     .shape = CM_SHAPE_LIST,
     .section = &SPEED_CONDITION_SECTION,
     CHECKED_ONLY,
     .about = "per speed"},
    TOLERANCE_KEY,
};
static const cm_section CONDITION_SECTION = {
    .name = "condition", .about = "Expected condition numbers.", SECTION_ROWS(CONDITION_KEYS)};

static const cm_key EXPECTED_OBJECTIVE_KEYS[] = {
    {.name = "minimise",
     .shape = CM_SHAPE_CHOICE,
     .choices = OBJECTIVES,
     CHECKED_ONLY,
     .about = "the objective"},
    EXPECTED("value", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "its value"),
    EXPECTED("bound", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "its bound"),
    EXPECTED("gap", CM_SHAPE_NUMBER, CM_MEASURE_PLAIN, "the gap between them"),
    TOLERANCE_KEY,
};
static const cm_section EXPECTED_OBJECTIVE_SECTION = {.name = "expected objective",
                                                      .about = "Expected value of an objective.",
                                                      SECTION_ROWS(EXPECTED_OBJECTIVE_KEYS)};

/* ---- expected: permissible unbalance, trial masses ---- */

static const cm_key EXPECTED_BEARING_KEYS[] = {
    NEEDED("id", CM_SHAPE_TEXT, "the bearing"),
    EXPECTED("value", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "permissible unbalance there"),
    EXPECTED("share", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "share of the whole"),
    EXPECTED("share_by_statics", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "share before the limits of the arrangement"),
    EXPECTED("static_load", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "static load in N"),
    EXPECTED("mass_speed_rule", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "value of the mass/speed rule"),
    TOLERANCE_KEY,
};
static const cm_section EXPECTED_BEARING_SECTION = {
    .name = "expected bearings", .about = "Expected values at bearings.", SECTION_ROWS(EXPECTED_BEARING_KEYS)};

static const cm_key PERMISSIBLE_KEYS[] = {
    EXPECTED("value", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "permissible unbalance of the whole rotor"),
    {.name = "unit", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "unit of the values"},
    {.name = "bearings", .shape = CM_SHAPE_LIST, .section = &EXPECTED_BEARING_SECTION, CHECKED_ONLY, .about = "at the bearings"},
    EXPECTED("eccentricity_um", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "permissible eccentricity in um"),
    EXPECTED("vibration_limit_um_pp", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "shaft vibration of a works test in um pp"),
    TOLERANCE_KEY,
};
static const cm_section PERMISSIBLE_SECTION = {
    .name = "permissible", .about = "Expected permissible unbalance.", SECTION_ROWS(PERMISSIBLE_KEYS)};

static const cm_key SEPARATION_KEYS[] = {
    EXPECTED("below", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "margin asked for below the running speed, percent"),
    EXPECTED("above", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "margin asked for above the running speed, percent"),
    EXPECTED("actual", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "distance of the resonance from service speed, percent"),
    TOLERANCE_KEY,
};
static const cm_section SEPARATION_SECTION = {
    .name = "separation", .about = "Expected separation margins.", SECTION_ROWS(SEPARATION_KEYS)};

static const cm_key ZONE_KEYS[] = {
    EXPECTED("a_b", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "boundary of zones A and B"),
    EXPECTED("b_c", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "boundary of zones B and C"),
    EXPECTED("c_d", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "boundary of zones C and D"),
    TOLERANCE_KEY,
};
static const cm_section ZONE_SECTION = {
    .name = "zones", .about = "Expected zone boundaries.", SECTION_ROWS(ZONE_KEYS)};

static const cm_key TRIAL_KEYS[] = {
    {.name = "plane", .shape = CM_SHAPE_PLANE, .required = true, .read = cm_read_part, CHECKED_ONLY,
     .about = "the plane or set"},
    EXPECTED("possible", CM_SHAPE_BOOLEAN, CM_MEASURE_PLAIN, "whether a mass is both safe and visible"),
    EXPECTED("mass", CM_SHAPE_NUMBER, CM_MEASURE_MASS, "proposed mass"),
    EXPECTED("angle", CM_SHAPE_NUMBER, CM_MEASURE_DEGREES, "its angle"),
    EXPECTED("upper", CM_SHAPE_NUMBER, CM_MEASURE_MASS, "largest safe mass"),
    EXPECTED("lower", CM_SHAPE_NUMBER, CM_MEASURE_MASS, "smallest visible mass"),
    EXPECTED("force", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "its force at overspeed in N"),
    EXPECTED("rim_speed", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "rim speed in m/s"),
    EXPECTED("energy", CM_SHAPE_NUMBER, CM_MEASURE_ANY, "energy when it comes off in J"),
    TOLERANCE_KEY,
};
static const cm_section TRIAL_SECTION = {
    .name = "trial", .about = "Expected trial masses.", SECTION_ROWS(TRIAL_KEYS)};

static const cm_key EXPECTED_KEYS[] = {
    {.name = "permissible", .shape = CM_SHAPE_MAP, .section = &PERMISSIBLE_SECTION, CHECKED_ONLY, .about = "permissible unbalance"},
    {.name = "separation", .shape = CM_SHAPE_MAP, .section = &SEPARATION_SECTION, CHECKED_ONLY, .about = "separation margins"},
    {.name = "zones", .shape = CM_SHAPE_MAP, .section = &ZONE_SECTION, CHECKED_ONLY, .about = "vibration zones"},
    {.name = "trial", .shape = CM_SHAPE_LIST, .section = &TRIAL_SECTION, CHECKED_ONLY, .about = "trial masses"},
    {.name = "source",
     .shape = CM_SHAPE_TEXT,
     KEPT(cm_case, expected_source),
     .about = "where the numbers come from, and how they are known"},
    {.name = "corrections",
     .shape = CM_SHAPE_LIST,
     .section = &CORRECTION_SECTION,
     CHECKED_ONLY,
     .example = "[{plane: P1, mass: 10.06, angle: 325.6, tolerance: {mass: 0.5 %, angle: 0.5}}]",
     .about = "total masses"},
    {.name = "influence",
     .shape = CM_SHAPE_LIST,
     .section = &COEFFICIENT_SECTION,
     CHECKED_ONLY,
     .about = "coefficients"},
    {.name = "predicted",
     .shape = CM_SHAPE_LIST,
     .section = &PREDICTED_SECTION,
     CHECKED_ONLY,
     .about = "readings"},
    {.name = "condition",
     .shape = CM_SHAPE_MAP,
     .section = &CONDITION_SECTION,
     CHECKED_ONLY,
     .about = "condition numbers"},
    {.name = "objective",
     .shape = CM_SHAPE_MAP,
     .section = &EXPECTED_OBJECTIVE_SECTION,
     CHECKED_ONLY,
     .about = "value of the objective"},
    {.name = "objectives",
     .shape = CM_SHAPE_LIST,
     .section = &EXPECTED_OBJECTIVE_SECTION,
     CHECKED_ONLY,
     .about = "values of several objectives"},
    TOLERANCE_KEY,
};
static const char *const EXPECTED_LATER[] = {"critical_speeds", NULL};
static const cm_section EXPECTED_SECTION = {.name = "expected",
                                            .later = EXPECTED_LATER,
                                            SECTION_ROWS(EXPECTED_KEYS),
                                            .about = "Results that `verify` compares with what is found."};

/* ---- limits by a standard ---- */

static const cm_key LIMITS_KEYS[] = {
    {.name = "standard", .shape = CM_SHAPE_TEXT, .required = true, .example = "ISO 10816-3 group 1 rigid",
     .read = cm_read_zone, CHECKED_ONLY,
     .about = "table of zone boundaries for service speed: A/B becomes the limit, B/C the alarm, C/D the trip of sensors of its unit and kind that have none of their own"},
};
static const cm_section LIMITS_SECTION = {
    .name = "limits", .about = "Limits, alarms and trips from a standard's table.", SECTION_ROWS(LIMITS_KEYS)};

/* ---- the file ---- */

static const cm_key FILE_KEYS[] = {
    {.name = "case",
     .shape = CM_SHAPE_MAP,
     .required = true,
     .section = &CASE_SECTION,
     .example = "{format: 1}",
     .read = cm_read_header,
     .about = "what the file is about"},
    {.name = "conventions",
     .shape = CM_SHAPE_MAP,
     .required = true,
     .section = &CONVENTION_SECTION,
     .example = "{phase: lag, mass_angle: against-rotation}",
     .about = "how angles are counted"},
    {.name = "units", .shape = CM_SHAPE_MAP, .section = &UNIT_SECTION, .about = "what a bare number means"},
    {.name = "rotor", .shape = CM_SHAPE_MAP, .section = &ROTOR_SECTION, .about = "the rotor as a whole"},
    {.name = "speeds",
     .shape = CM_SHAPE_LIST,
     .section = &SPEED_SECTION,
     .read = cm_read_speeds,
     .about = "speeds at which readings are taken"},
    {.name = "sensors", .shape = CM_SHAPE_LIST, .section = &SENSOR_SECTION, .about = "sensors"},
    {.name = "limits", .shape = CM_SHAPE_MAP, .section = &LIMITS_SECTION, .about = "limits from a standard's table"},
    {.name = "planes", .shape = CM_SHAPE_LIST, .section = &PLANE_SECTION, .about = "correction planes"},
    {.name = "sets", .shape = CM_SHAPE_LIST, .section = &SET_SECTION, .offset = 0, .about = "sets of planes"},
    {.name = "runs", .shape = CM_SHAPE_LIST, .section = &RUN_SECTION, .read = cm_read_runs, .about = "starts with readings"},
    {.name = "now",
     .shape = CM_SHAPE_MAP,
     .section = &NOW_SECTION,
     .read = cm_read_now,
     .about = "what is on the rotor now"},
    {.name = "slow_roll",
     .shape = CM_SHAPE_PHASOR_BY_SENSOR,
     .measure = CM_MEASURE_VIBRATION,
     .read = cm_read_slow_roll,
     .example = "{DE-x: 6 @ 210}",
     .about = "subtracted from every reading of the sensor"},
    {.name = "influence",
     .shape = CM_SHAPE_LIST,
     .section = &INFLUENCE_SECTION,
     .about = "coefficients known beforehand"},
    {.name = "objective",
     .shape = CM_SHAPE_MAP,
     .section = &OBJECTIVE_SECTION,
     .read = cm_read_objective,
     .about = "what is asked"},
    {.name = "expected",
     .shape = CM_SHAPE_MAP,
     .section = &EXPECTED_SECTION,
     .read = cm_read_expected,
     .about = "results to compare with"},
};
static const char *const FILE_LATER[] = {"phase_probe", "pairs", "sweep", "survey", NULL};

const cm_section CM_CASE_FILE = {.name = "the case file",
                                 .later = FILE_LATER,
                                 SECTION_ROWS(FILE_KEYS),
                                 .about = "The parts of a case file."};

/* ---- influence records: a file of their own, in the same form ---- */

static const cm_key RECORD_KEYS[] = {
    {.name = "format", .shape = CM_SHAPE_TEXT, .required = true, .example = "1", .read = cm_read_format, CHECKED_ONLY,
     .about = "version of the record; this program reads format 1"},
};
static const cm_section RECORD_SECTION = {.name = "record", .about = "What the file is.", SECTION_ROWS(RECORD_KEYS)};

static const cm_key ORIGIN_KEYS[] = {
    {.name = "title", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "title of the case"},
    {.name = "machine", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "the machine"},
    {.name = "serial", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "its serial number"},
    {.name = "date", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "when"},
    {.name = "file", .shape = CM_SHAPE_TEXT, CHECKED_ONLY, .about = "the case file"},
};
static const cm_section ORIGIN_SECTION = {
    .name = "origin", .about = "Where the numbers come from.", SECTION_ROWS(ORIGIN_KEYS)};

static const cm_key RECORDED_KEYS[] = {
    {.name = "plane", .shape = CM_SHAPE_PLANE, .required = true, .example = "P1", KEPT(cm_known_entry, plane),
     .about = "the plane"},
    {.name = "speed", .shape = CM_SHAPE_SPEED, .required = true, .example = "service", KEPT(cm_known_entry, speed),
     .about = "the speed"},
    {.name = "sensor", .shape = CM_SHAPE_SENSOR, .required = true, .example = "DE-x", .read = cm_read_entry_sensor,
     KEPT(cm_known_entry, sensor), .about = "the sensor"},
    {.name = "value", .shape = CM_SHAPE_PHASOR, .required = true, .measure = CM_MEASURE_VIBRATION,
     .example = "0.42 @ 210", KEPT(cm_known_entry, value), .about = "as in a case's influence"},
    {.name = "uncertainty", .shape = CM_SHAPE_NUMBER, .measure = CM_MEASURE_VIBRATION, .range = CM_ABOVE_ZERO,
     .example = "0.05", KEPT(cm_known_entry, uncertainty), .about = "standard deviation of the complex value"},
    {.name = "common", .shape = CM_SHAPE_NUMBER, .measure = CM_MEASURE_SHARE, .range = CM_ZERO_TO_ONE, .fallback = "0",
     KEPT(cm_known_entry, common), .about = "share of the variance that all sensors of the plane and speed have together"},
    {.name = "exact", .shape = CM_SHAPE_BOOLEAN, .fallback = "false", KEPT(cm_known_entry, exact),
     .about = "true in place of an uncertainty: without any spread"},
    {.name = "assumed", .shape = CM_SHAPE_BOOLEAN, .fallback = "false", CHECKED_ONLY,
     .about = "true: the uncertainty rests on an assumed scatter"},
};
static const cm_section RECORDED_SECTION = {.name = "coefficients", .about = "One entry a coefficient.",
                                            .begin = cm_begin_known, .end = cm_end_recorded, SECTION_ROWS(RECORDED_KEYS)};

static const cm_key COVARIANCE_KEYS[] = {
    {.name = "speed", .shape = CM_SHAPE_SPEED, .required = true, .example = "service", KEPT(cm_known_entry, speed),
     .about = "the speed"},
    {.name = "sensor", .shape = CM_SHAPE_SENSOR, .required = true, .example = "DE-x", .read = cm_read_entry_sensor,
     KEPT(cm_known_entry, sensor), .about = "the sensor"},
    {.name = "factor", .shape = CM_SHAPE_PHASORS, .required = true, .measure = CM_MEASURE_VIBRATION,
     .example = "{P1: [0.01 @ 0], P2: [0.004 @ 12, 0.01 @ 0]}", .read = cm_read_factor, CHECKED_ONLY,
     .about = "a line of F per plane: the covariance of the planes' coefficients of this row is F times its adjoint"},
};
static const cm_section COVARIANCE_SECTION = {.name = "covariance", .about = "How the coefficients of a row err together.",
                                              .begin = cm_begin_known, .end = cm_end_covariance,
                                              SECTION_ROWS(COVARIANCE_KEYS)};

static const cm_key RECORD_FILE_KEYS[] = {
    {.name = "record", .shape = CM_SHAPE_MAP, .required = true, .section = &RECORD_SECTION, .example = "{format: 1}",
     .about = "what the file is"},
    {.name = "origin", .shape = CM_SHAPE_MAP, .section = &ORIGIN_SECTION, .about = "where the numbers come from"},
    {.name = "conventions", .shape = CM_SHAPE_MAP, .required = true, .section = &CONVENTION_SECTION,
     .example = "{phase: lag, mass_angle: against-rotation}", .about = "how angles are counted"},
    {.name = "units", .shape = CM_SHAPE_MAP, .required = true, .section = &UNIT_SECTION,
     .example = "{speed: rpm, mass: g, length: mm, vibration: um pp}", .about = "what a bare number means"},
    {.name = "speeds", .shape = CM_SHAPE_LIST, .required = true, .section = &SPEED_SECTION, .about = "speeds"},
    {.name = "sensors", .shape = CM_SHAPE_LIST, .required = true, .section = &SENSOR_SECTION, .about = "sensors"},
    {.name = "planes", .shape = CM_SHAPE_LIST, .required = true, .section = &PLANE_SECTION, .about = "correction planes"},
    {.name = "left_on", .shape = CM_SHAPE_LIST, .section = &MASS_SECTION, KEPT(cm_case, now),
     .about = "what was left on the rotor"},
    {.name = "coefficients", .shape = CM_SHAPE_LIST, .required = true, .section = &RECORDED_SECTION, .about = "the numbers"},
    {.name = "covariance", .shape = CM_SHAPE_LIST, .section = &COVARIANCE_SECTION, .about = "how they err together"},
};
const cm_section CM_RECORD_FILE = {
    .name = "the record file", SECTION_ROWS(RECORD_FILE_KEYS), .about = "The parts of an influence record."};
