/* Gives a fuzzer every file of its corpus where libFuzzer is not there to do so: fuzz_X FOLDER. */
#include <stdio.h>
#include <stdlib.h>

#include "base/os.h"
#include "fuzz/fuzz.h"

enum { CORPUS_BYTES_MAX = 16 * 1024 * 1024 };

static bool run_file(const char *folder, const char *name, Err *err)
{
    Text path = {0};
    Text bytes = {0};
    text_addf(&path, "%s/%s", folder, name);
    bool ok = os_file_read(path.bytes, CORPUS_BYTES_MAX, &bytes, err);
    if (ok) (void)LLVMFuzzerTestOneInput((const uint8_t *)text_string(&bytes), bytes.len);
    text_clear(&bytes);
    text_clear(&path);
    return ok;
}

int main(int argc, char **argv)
{
    CHECK(argc == 2);
    Err err = {0};
    char **names = NULL;
    size_t count = 0;
    bool ok = os_folder_list(argv[1], "", &names, &count, &err);
    for (size_t i = 0; ok && i < count; i++) {
        ok = run_file(argv[1], names[i], &err);
    }
    if (!ok) (void)fprintf(stderr, "%s\n", err.text);
    (void)printf("%zu files\n", count);
    os_names_free(names, count);
    return ok && count > 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
