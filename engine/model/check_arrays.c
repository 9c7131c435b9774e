/* SPDX-License-Identifier: MIT */
/* Every number is looked at once; the cost is that of reading the arrays. */
#include "model/check_arrays.h"

#include <complex.h>
#include <math.h>
#include <string.h>

#undef I

static bool is_finite(double value)
{
    return isfinite(value);
}

static bool is_not_negative(double value)
{
    return value >= 0 && isfinite(value);
}

static bool is_above_zero(double value)
{
    return value > 0 && isfinite(value);
}

static bool is_limit(double value)
{
    return value > 0;
}

static bool is_radius(double value)
{
    return value >= 0;
}

const cm_number_rule CM_FINITE = {is_finite, "finite"};
const cm_number_rule CM_NOT_NEGATIVE = {is_not_negative, "finite and not negative"};
const cm_number_rule CM_ABOVE_ZERO = {is_above_zero, "finite and above 0"};
const cm_number_rule CM_LIMIT = {is_limit, "above 0 (INFINITY: no limit)"};
const cm_number_rule CM_RADIUS = {is_radius, "a number that is not negative (INFINITY: no cap)"};

bool cm_is_finite(cm_complex value)
{
    return isfinite(creal(value)) && isfinite(cimag(value));
}

void cm_check_number(cm_session *session, double value, const cm_number_rule *rule, const char *format, ...)
{
    if (rule->holds(value))
        return;
    va_list arguments;
    va_start(arguments, format);
    const char *name = cm_format_list(session, format, arguments);
    va_end(arguments);
    cm_fail(session, CM_BAD_INPUT, "%s is %g: it must be %s", name, value, rule->words);
}

/* An array and what it is held against. */
typedef struct array {
    cm_session *session;
    const char *owner;
    const cm_array_rule *rule;
    const size_t *extent;
    size_t down, count;
} array;

/* Where element `at` stands, as the caller writes it. */
static const char *element_name(const array *a, size_t at)
{
    const char *name = cm_format(a->session, "%s.%s[%zu]", a->owner, a->rule->name, at);
    if (a->count == a->down)
        return name;
    return cm_format(a->session, "%s (row %zu, column %zu)", name, at % a->down, at / a->down);
}

static void check_numbers(const array *a, const double *values, size_t parts)
{
    for (size_t i = 0; i < a->count * parts; i++)
        if (!a->rule->rule->holds(values[i]))
            cm_check_number(a->session, values[i], a->rule->rule, "%s%s", element_name(a, i / parts),
                            parts == 1   ? ""
                            : i % 2 == 0 ? ", its real part,"
                                         : ", its imaginary part,");
}

static void check_integers(const array *a, const int *values)
{
    const cm_array_rule *rule = a->rule;
    for (size_t i = 0; i < a->count; i++)
        if (values[i] < rule->low)
            cm_fail(a->session, CM_BAD_INPUT, "%s is %d: it must not be less than %d", element_name(a, i),
                    values[i], rule->low);
        else if (rule->below >= 0 && values[i] >= 0 && (size_t)values[i] >= a->extent[rule->below])
            cm_fail(a->session, CM_BAD_INPUT, "%s is %d: it must be less than %zu", element_name(a, i),
                    values[i], a->extent[rule->below]);
}

static void check_elements(const array *a, const void *values)
{
    if (a->rule->element == CM_OF_INT)
        check_integers(a, values);
    else if (a->rule->rule)
        check_numbers(a, values, a->rule->element == CM_OF_COMPLEX ? 2 : 1);
}

void cm_check_arrays(cm_session *session, const char *name, const void *given, int count,
                     const cm_array_rule *rules, const size_t *extent)
{
    for (const cm_array_rule *rule = rules; rule < rules + count; rule++) {
        array a = {session, name, rule, extent, extent[rule->down], 0};
        const void *values;
        a.count = a.down * extent[rule->across];
        memcpy(&values, (const char *)given + rule->at, sizeof values);
        if (values)
            check_elements(&a, values);
        else if (a.count > 0 && !rule->optional)
            cm_fail(session, CM_BAD_INPUT, "%s.%s is NULL, but must have %zu elements", name, rule->name,
                    a.count);
    }
}
