/* SPDX-License-Identifier: MIT */
/*
 * What the YAML library does more than once a byte. Inside a text it keeps the
 * blanks and line ends between two words in buffers that only grow, and clears
 * a whole buffer after every gap: so a text costs up to gaps times the longest
 * gap, 1e14 bytes in a file of 32 MB. And it compares each %TAG line with all
 * before it. Both are bounded here, in one pass over the bytes.
 */
#include "tree/yaml_effort.h"

#include <stdbool.h>
#include <string.h>

enum { MOST_TAGS = 64 };
static const double MOST_CLEARED = 4e9; /* bytes; less than a second */

/* Bytes of the blank or line end at `at`, as the library knows them; 0: something else. */
static size_t gap_at(const unsigned char *at, size_t left)
{
    if (*at == ' ' || *at == '\t' || *at == '\n' || *at == '\r')
        return 1;
    if (left >= 2 && at[0] == 0xC2 && at[1] == 0x85)
        return 2;
    return left >= 3 && at[0] == 0xE2 && at[1] == 0x80 && (at[2] == 0xA8 || at[2] == 0xA9) ? 3 : 0;
}

static cm_yaml_effort count_gaps(const unsigned char *bytes, size_t length)
{
    size_t gaps = 0, longest = 0, start = 0;
    if ((double)length * (double)length / 4 <= MOST_CLEARED) /* gaps + longest <= length */
        return (cm_yaml_effort){NULL, 0};
    for (size_t i = 0, more; i < length;) {
        size_t from = i;
        while (i < length && (more = gap_at(bytes + i, length - i)) > 0)
            i += more;
        gaps += i > from;
        if (i - from > longest) {
            longest = i - from;
            start = from;
        }
        i += i == from;
    }
    if ((double)gaps * (double)longest <= MOST_CLEARED)
        return (cm_yaml_effort){NULL, 0};
    return (cm_yaml_effort){
        "the file is long, and so is the stretch of blanks and empty lines that begins here: take "
        "them out",
        start};
}

static cm_yaml_effort count_tags(const char *bytes, size_t length)
{
    static const char tag[] = "%TAG";
    int tags = 0;
    for (const char *at = bytes, *end = bytes + length; (at = memchr(at, '%', (size_t)(end - at))); at++) {
        bool begins_line = at == bytes || at[-1] == '\n' || at[-1] == '\r';
        if (begins_line && (size_t)(end - at) >= strlen(tag) && memcmp(at, tag, strlen(tag)) == 0 &&
            ++tags > MOST_TAGS)
            return (cm_yaml_effort){"tags are not supported: leave the lines that begin with %TAG out",
                                    (size_t)(at - bytes)};
    }
    return (cm_yaml_effort){NULL, 0};
}

cm_yaml_effort cm_yaml_effort_of(const char *bytes, size_t length)
{
    cm_yaml_effort effort = count_tags(bytes, length);
    return effort.words ? effort : count_gaps((const unsigned char *)bytes, length);
}
