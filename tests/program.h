/* Running the real program from a test, in a folder of the test's own. */
#ifndef TESTS_PROGRAM_H
#define TESTS_PROGRAM_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include <cmocka.h>

#include "base/os.h"

enum { OUTPUT_BYTES_MAX = 64 * 1024 * 1024 };

/* One call: its exit code and all that it said. */
typedef struct {
    int code;
    Text out;
    Text err;
} Call;

static inline const char *folder_of(void **state)
{
    return text_string(*state);
}

static inline void read_file(const char *folder, const char *name, Text *out)
{
    Err err = {0};
    Text path = {0};
    text_addf(&path, "%s/%s", folder, name);
    if (!os_file_read(path.bytes, OUTPUT_BYTES_MAX, out, &err)) fail_msg("%s", err.text);
    text_clear(&path);
}

static inline void write_file(const char *folder, const char *name, const char *text)
{
    Err err = {0};
    Text path = {0};
    text_addf(&path, "%s/%s", folder, name);
    if (!os_file_write(path.bytes, text, strlen(text), &err)) fail_msg("%s", err.text);
    text_clear(&path);
}

/* Run the program in `folder` with the words of `arguments`, as a shell reads them; $TREE stands
 * for the folder that the test itself runs in. Heads are kept in the test's folder, too. */
static inline void run(const char *folder, const char *arguments, Call *call)
{
    Text command = {0};
    text_addf(&command,
              "TREE=$PWD; cd '%s' && export XDG_STATE_HOME=\"$PWD/state\" && </dev/null >out 2>err "
              "'%s' %s",
              folder, THREEPASS_PROGRAM, arguments);
    int status = system(command.bytes);
    assert_true(WIFEXITED(status));
    *call = (Call){.code = WEXITSTATUS(status)};
    read_file(folder, "out", &call->out);
    read_file(folder, "err", &call->err);
    text_clear(&command);
}

static inline void call_clear(Call *call)
{
    text_clear(&call->out);
    text_clear(&call->err);
}

/* A folder for the test, as its state; cmocka's setup and teardown of a group. */
static inline int make_folder(void **state)
{
    Err err = {0};
    Text *folder = check_calloc(1, sizeof *folder);
    *state = folder;
    return os_folder_make_temporary(folder, &err) ? 0 : -1;
}

static inline int remove_folder(void **state)
{
    Text *folder = *state;
    Text command = {0};
    text_addf(&command, "rm -r '%s'", text_string(folder));
    int status = system(command.bytes);
    text_clear(&command);
    text_clear(folder);
    free(folder);
    return status;
}

#endif
