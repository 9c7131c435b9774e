/* SPDX-License-Identifier: MIT */
#include "countermass.h"
int main(void)
{
    return 0;
}
