/* Any bytes are a bundle, whose lines are what it promises, or one error with its place; and they
 * are the same however they come in pieces. */
#include <string.h>

#include "fuzz/fuzz.h"
#include "records/bundle_read.h"

typedef struct {
    const uint8_t *bytes;
    size_t left;
    size_t piece;
} Source;

static bool fill(void *context, char *bytes, size_t size, size_t *got, Err *err)
{
    Source *source = context;
    (void)err;
    *got = source->piece < size ? source->piece : size;
    if (*got > source->left) *got = source->left;
    if (*got > 0) memcpy(bytes, source->bytes, *got);
    source->bytes += *got;
    source->left -= *got;
    return true;
}

/* One line of what was read. */
static void tell(const RecBundleHeader *header, const RecBundleLine *line, Text *out)
{
    switch (line->kind) {
    case REC_LINE_ENTRY:
        CHECK(line->station < header->count && line->entry.number >= 1);
        CHECK(strcmp(line->entry.station, header->heads[line->station].states.station) == 0);
        CHECK(line->entry.number <= header->heads[line->station].states.number);
        text_addf(out, "%s %lld\n", line->entry.hash.hex, (long long)line->entry.number);
        break;
    case REC_LINE_CONTENT:
        text_addf(out, "content %s %zu\n", line->hash.hex, line->content.len);
        break;
    case REC_LINE_VEIL:
        text_addf(out, "text %s %zu\n", line->veil.commitment.bytes, line->veil.text.len);
        break;
    case REC_LINE_LAST:
        text_addf(out, "last %s %s\n", line->hash.hex, line->key);
        break;
    }
}

static void read_all(const uint8_t *bytes, size_t count, size_t piece, Text *out)
{
    Source source = {bytes, count, piece};
    RecBundleReader *reader = NULL;
    RecBundleLine *line = NULL;
    Err err = {0};
    bool ok = rec_bundle_reader_new("bundle", fill, &source, &reader, &err);
    bool is_last = false;
    while (ok && !is_last) {
        ok = rec_bundle_next(reader, &line, &err);
        if (ok) tell(rec_bundle_header(reader), line, out);
        is_last = ok && line->kind == REC_LINE_LAST;
    }
    CHECK(ok || (err.code == ERR_INPUT && strncmp(err.text, "bundle:", 7) == 0));
    if (!ok) text_addf(out, "%s\n", err.text);
    rec_bundle_reader_free(reader);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Text whole = {0};
    Text pieces = {0};
    read_all(bytes, count, SIZE_MAX, &whole);
    read_all(bytes, count, 7, &pieces);
    CHECK(strcmp(text_string(&whole), text_string(&pieces)) == 0);
    text_clear(&pieces);
    text_clear(&whole);
    return 0;
}
