/* SPDX-License-Identifier: MIT */
/* Structs of callers who were built with other headers than the library. */
#include "base/given.h"

#include <string.h>

const void *cm_given_struct(cm_session *session, const char *name, const void *given, size_t first,
                            size_t size)
{
    size_t theirs;
    if (!given)
        cm_fail(session, CM_BAD_INPUT, "%s is missing: the pointer to it is NULL", name);
    memcpy(&theirs, given, sizeof theirs);
    if (theirs < first)
        cm_fail(session, CM_BAD_INPUT,
                "the size of %s is %zu, less than any version of it has (%zu); set it to sizeof(%s)", name,
                theirs, first, name);
    if (theirs >= size)
        return given;
    void *own = cm_alloc(session, 1, size);
    memcpy(own, given, theirs);
    memcpy(own, &size, sizeof size);
    return own;
}
