/* SPDX-License-Identifier: MIT */
/* Files: whole or not at all, and what is said when they are not there. */
#include "suite.h"
#include "base/file.h"
#include "countermass/page.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[] = "/tmp/cm-file-test-XXXXXX";

static const char *in_folder(const char *name)
{
    static char path[4][128];
    static int turn;
    turn = (turn + 1) % 4;
    snprintf(path[turn], sizeof path[turn], "%s/%s", folder, name);
    return path[turn];
}

static cm_status read_file(cm_session *session, const char *path, size_t most, char **bytes, size_t *length)
{
    CM_ENTER(session);
    *bytes = cm_file_read(session, path, most, length);
    return cm_leave(session);
}

static cm_status write_file(cm_session *session, const char *path, const char *bytes, size_t length)
{
    CM_ENTER(session);
    cm_files_write(session, 1, &(cm_file_text){path, bytes, length});
    return cm_leave(session);
}

static int files_in_folder(void)
{
    DIR *list = opendir(folder);
    int count = -2; /* itself and its parent */
    while (list && readdir(list))
        count++;
    closedir(list);
    return count;
}

static void test_there_and_back(void)
{
    cm_session *session = cm_open(NULL);
    static char large[300000];
    memset(large, 'x', sizeof large);
    large[17] = 0;
    char *bytes;
    size_t length;
    CU_ASSERT_EQUAL(write_file(session, in_folder("a"), large, sizeof large), CM_OK);
    CU_ASSERT_EQUAL_FATAL(read_file(session, in_folder("a"), sizeof large, &bytes, &length), CM_OK);
    CU_ASSERT(length == sizeof large && memcmp(bytes, large, length) == 0 && bytes[length] == 0);
    CU_ASSERT_EQUAL(write_file(session, in_folder("a"), "", 0), CM_OK);
    CU_ASSERT_EQUAL(read_file(session, in_folder("a"), 10, &bytes, &length), CM_OK);
    CU_ASSERT(length == 0 && bytes[0] == 0);
    CU_ASSERT_EQUAL(files_in_folder(), 1);
    cm_close(session);
}

static void test_unreadable(void)
{
    cm_session *session = cm_open(NULL);
    char *bytes;
    size_t length;
    CU_ASSERT_EQUAL(read_file(session, folder, 10, &bytes, &length), CM_BAD_INPUT);
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, 0)->text, "is a folder");
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, 0)->file, folder);
    CU_ASSERT_EQUAL(cm_message_at(session, 0)->line, 0);
    CU_ASSERT_EQUAL(read_file(session, in_folder("none"), 10, &bytes, &length), CM_BAD_INPUT);
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, 1)->text, "cannot be opened: No such file or directory");
    CU_ASSERT_EQUAL(write_file(session, in_folder("a"), "12345678901", 11), CM_OK);
    CU_ASSERT_EQUAL(read_file(session, in_folder("a"), 10, &bytes, &length), CM_BAD_INPUT);
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, 2)->text, "the file is larger than 10 bytes");
    CU_ASSERT_EQUAL(cm_message_at(session, 2)->line, 1);
    CU_ASSERT_EQUAL(cm_message_at(session, 2)->column, 1);
    CU_ASSERT_EQUAL(read_file(session, in_folder("a"), 11, &bytes, &length), CM_OK);
    CU_ASSERT_EQUAL(read_file(session, "/dev/zero", 100000, &bytes, &length), CM_BAD_INPUT);
    cm_close(session);
}

static void test_mode_and_link_stay(void)
{
    cm_session *session = cm_open(NULL);
    struct stat facts;
    CU_ASSERT_EQUAL(write_file(session, in_folder("a"), "old", 3), CM_OK);
    CU_ASSERT_EQUAL(chmod(in_folder("a"), 0640), 0);
    CU_ASSERT_EQUAL(symlink("a", in_folder("link")), 0);
    CU_ASSERT_EQUAL(write_file(session, in_folder("link"), "newer", 5), CM_OK);
    CU_ASSERT(lstat(in_folder("link"), &facts) == 0 && S_ISLNK(facts.st_mode));
    CU_ASSERT(stat(in_folder("a"), &facts) == 0 && (facts.st_mode & 0777) == 0640 && facts.st_size == 5);
    unlink(in_folder("link"));
    cm_close(session);
}

/* The end of a link that is not there yet is made, and the link stays; one that leads nowhere is refused. */
static void test_new_behind_links(void)
{
    cm_session *session = cm_open(NULL);
    struct stat facts;
    CU_ASSERT_EQUAL(mkdir(in_folder("d"), 0755), 0);
    CU_ASSERT_EQUAL(symlink("d/second", in_folder("first")), 0);
    CU_ASSERT_EQUAL(symlink("../end", in_folder("d/second")), 0);
    CU_ASSERT_EQUAL(write_file(session, in_folder("first"), "new", 3), CM_OK);
    CU_ASSERT(lstat(in_folder("first"), &facts) == 0 && S_ISLNK(facts.st_mode));
    CU_ASSERT(lstat(in_folder("d/second"), &facts) == 0 && S_ISLNK(facts.st_mode));
    CU_ASSERT(lstat(in_folder("end"), &facts) == 0 && S_ISREG(facts.st_mode) && facts.st_size == 3);
    CU_ASSERT_EQUAL(symlink(in_folder("whole"), in_folder("absolute")), 0);
    CU_ASSERT(cm_same_target(in_folder("absolute"), in_folder("d/../whole")) == 1);
    CU_ASSERT(cm_same_target(in_folder("absolute"), in_folder("d/whole")) == 0);
    CU_ASSERT_EQUAL(write_file(session, in_folder("absolute"), "new", 3), CM_OK);
    CU_ASSERT(lstat(in_folder("whole"), &facts) == 0 && S_ISREG(facts.st_mode));
    CU_ASSERT_EQUAL(symlink("loop", in_folder("loop")), 0);
    int before = cm_message_count(session);
    CU_ASSERT_EQUAL(write_file(session, in_folder("loop"), "x", 1), CM_FILE_FAILED);
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, before)->text,
                           "cannot be written: Too many levels of symbolic links");
    CU_ASSERT(lstat(in_folder("loop"), &facts) == 0 && S_ISLNK(facts.st_mode));
    CU_ASSERT(cm_same_target(in_folder("loop"), in_folder("whole")) == 0);
    for (const char *const *name =
             (const char *const[]){"first", "d/second", "end", "whole", "absolute", "loop", NULL};
         *name; name++)
        CU_ASSERT_EQUAL(unlink(in_folder(*name)), 0);
    CU_ASSERT_EQUAL(rmdir(in_folder("d")), 0);
    cm_close(session);
}

static void test_unwritable(void)
{
    cm_session *session = cm_open(NULL);
    CU_ASSERT_EQUAL(write_file(session, folder, "x", 1), CM_FILE_FAILED);
    CU_ASSERT_EQUAL(write_file(session, in_folder("none/b"), "x", 1), CM_FILE_FAILED);
    CU_ASSERT_STRING_EQUAL(cm_message_at(session, 1)->text, "cannot be written: No such file or directory");
    CU_ASSERT_EQUAL(write_file(session, "/dev/full", "x", 1), CM_FILE_FAILED);
    CU_ASSERT_EQUAL(write_file(session, "/dev/null", "x", 1), CM_OK);
    struct stat facts;
    CU_ASSERT(stat("/dev/null", &facts) == 0 && S_ISCHR(facts.st_mode));
    CU_ASSERT_EQUAL(files_in_folder(), 1);
    cm_close(session);
}

static void check_holds(cm_session *session, const char *name, const char *wanted)
{
    char *bytes;
    size_t length;
    CU_ASSERT_EQUAL_FATAL(read_file(session, in_folder(name), 100, &bytes, &length), CM_OK);
    CU_ASSERT_STRING_EQUAL(bytes, wanted);
}

/* Where one cannot be written, the others stay as they were, wherever it stands in the list. */
static void test_together(void)
{
    cm_session *session = cm_open(NULL);
    const char *const texts[] = {"new a", "new b"};
    char a[128], b[128];
    snprintf(a, sizeof a, "%s/a", folder);
    snprintf(b, sizeof b, "%s/b", folder);
    CU_ASSERT_EQUAL(cm_save(session, a, "old"), CM_OK);
    for (int first = 0; first < 2; first++)
        for (const char *const *refused = (const char *const[]){"/dev/full", "none/b", "", NULL}; *refused;
             refused++) {
            const char *other = **refused == '/' ? *refused : in_folder(*refused);
            const char *const paths[] = {first ? other : a, first ? a : other};
            CU_ASSERT_EQUAL(cm_save_together(session, 2, paths, texts), CM_FILE_FAILED);
            check_holds(session, "a", "old");
            CU_ASSERT_EQUAL(files_in_folder(), 1);
        }
    CU_ASSERT_EQUAL(cm_save_together(session, -1, NULL, NULL), CM_BAD_INPUT);
    CU_ASSERT_EQUAL(cm_save_together(session, 0, NULL, NULL), CM_OK);
    CU_ASSERT_EQUAL(cm_save_together(session, 2, (const char *const[]){a, b}, texts), CM_OK);
    check_holds(session, "a", "new a");
    check_holds(session, "b", "new b");
    CU_ASSERT_EQUAL(unlink(in_folder("b")), 0);
    cm_close(session);
}

static void check_beside(cm_session *session, const char *beside, const char *name, const char *wanted)
{
    const char *path = cm_path_beside(session, beside, name);
    CU_ASSERT_STRING_EQUAL(path ? path : "(none)", wanted);
}

static void test_beside(void)
{
    cm_session *session = cm_open(NULL);
    check_beside(session, "a/b.yaml", "c.csv", "a/c.csv");
    check_beside(session, "b.yaml", "c.csv", "c.csv");
    check_beside(session, "-", "d/c.csv", "d/c.csv");
    check_beside(session, "/b.yaml", "c", "/c");
    check_beside(session, "a/b", "x/../c", "a/x/../c");
    check_beside(session, "a/b", "../c", "(none)");
    check_beside(session, "a/b", "x/../../c", "(none)");
    check_beside(session, "a/b", "/etc/c", "(none)");
    check_beside(session, "a/b", "", "(none)");
    check_beside(session, "a/b", ".", "(none)");
    check_beside(session, "a/b", "x/..", "(none)");
    cm_close(session);
}

int main(void)
{
    static const cm_test tests[] = {
        {"there and back", test_there_and_back},
        {"what cannot be read", test_unreadable},
        {"mode and link stay", test_mode_and_link_stay},
        {"new files behind links", test_new_behind_links},
        {"what cannot be written", test_unwritable},
        {"several files together", test_together},
        {"paths beside a file", test_beside},
        {NULL, NULL},
    };
    if (!mkdtemp(folder))
        return 2;
    int status = run_suite("base/file", tests);
    unlink(in_folder("a"));
    rmdir(folder);
    return status;
}
