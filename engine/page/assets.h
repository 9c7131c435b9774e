/* SPDX-License-Identifier: MIT */
/**
 * @file assets.h
 * Files of engine/page/assets/ as they stand, put into the library by
 * cmake/embed.cmake, with what a content security policy calls them by.
 */
#ifndef PAGE_ASSETS_H
#define PAGE_ASSETS_H

#include <stddef.h>

typedef struct cm_asset {
    const unsigned char *bytes; /* no zero byte at the end */
    size_t length;
    const char *digest; /* "sha256-" and the base64 of the SHA-256 of the bytes */
} cm_asset;

extern const cm_asset CM_DRAWING_CSS; /* looks of drawings */
extern const cm_asset CM_REPORT_CSS;  /* looks of pages */
extern const cm_asset CM_TRY_JS;      /* "try it on the page" */

#endif
