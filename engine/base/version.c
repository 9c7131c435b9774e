/* SPDX-License-Identifier: MIT */
/* The version that this library was built as. */
#include "countermass/version.h"

const char *cm_version(void)
{
    return CM_VERSION;
}
