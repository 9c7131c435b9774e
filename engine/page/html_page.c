/* SPDX-License-Identifier: MIT */
/*
 * The page around the body. The policy in its head lets a reader run nothing
 * but the style and the script below, known by their digests, and fetch
 * nothing: text that slips through as markup would still do nothing.
 */
#include "page/document.h"

#include "page/assets.h"
#include "page/markup.h"

static void add_asset(cm_text *out, const char *element, const cm_asset *asset)
{
    cm_text_print(out, "<%s>", element);
    cm_text_add_bytes(out, (const char *)asset->bytes, asset->length);
    cm_text_print(out, "</%s>\n", element);
}

static void add_policy(cm_text *out)
{
    cm_text_print(out,
                  "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                  "style-src '%s' '%s'; script-src '%s'; base-uri 'none'; form-action 'none'\">\n",
                  CM_REPORT_CSS.digest, CM_DRAWING_CSS.digest, CM_TRY_JS.digest);
}

const char *cm_html_page(cm_session *session, const char *title, const char *body)
{
    cm_text out = {.session = session};
    cm_text_add(&out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    add_policy(&out);
    cm_text_add(&out, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                      "<meta name=\"color-scheme\" content=\"light dark\">\n<title>");
    cm_markup_add(&out, title);
    cm_text_add(&out, "</title>\n");
    add_asset(&out, "style", &CM_REPORT_CSS);
    add_asset(&out, "style", &CM_DRAWING_CSS);
    cm_text_add(&out, "</head>\n<body>\n<main>\n");
    cm_text_add(&out, body);
    cm_text_add(&out, "</main>\n");
    add_asset(&out, "script", &CM_TRY_JS);
    cm_text_add(&out, "</body>\n</html>\n");
    return out.bytes;
}
