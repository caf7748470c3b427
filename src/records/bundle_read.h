/* Read a bundle (bundle.h) line by line, and check all of it that needs no store. Not for use
 * outside records/.
 *
 * Checked: that each line has its one spelling, the order, that nothing comes twice, that each
 * station's entries follow one from the other up to the head that the first line states, hashes and
 * commitments, and the last line's hash and signature. Whether the keys are the stations' is the
 * caller's to check.
 */
#ifndef RECORDS_BUNDLE_READ_H
#define RECORDS_BUNDLE_READ_H

#include "records/bundle.h"
#include "records/head.h"

#define REC_BUNDLE_FORMAT "threepass-bundle-1"

typedef enum {
    REC_LINE_ENTRY,
    REC_LINE_CONTENT,
    REC_LINE_VEIL,
    REC_LINE_LAST,
} RecLineKind;

/* One line as read; what it holds is borrowed until the next. */
typedef struct {
    RecLineKind kind;
    int line;       /* from 1 */
    size_t station; /* of an entry: its index in the header's */
    Text bytes;     /* the line, without its end */
    RecEntry entry; /* the caller may take it, and leave zeros */
    RecHash hash;   /* of a content; in the last line: of all lines before it */
    Text content;
    RecVeil veil;
    char key[REC_HEX_BYTES]; /* in the last line: by which it is signed */
} RecBundleLine;

/* Give up to `size` bytes of the bundle; *got is 0 at its end alone. */
typedef bool (*RecBundleFill)(void *context, char *bytes, size_t size, size_t *got, Err *err);

typedef struct RecBundleReader RecBundleReader;

/* What the first line says. */
typedef struct {
    char from[REC_ID_BYTES];
    RecSignedHead heads[REC_BUNDLE_STATIONS_MAX]; /* sorted by station */
    size_t count;
} RecBundleHeader;

/* Begin with the first line. `name` is the file's in messages, borrowed. On true the caller ends
 * *out with rec_bundle_reader_free, which takes NULL. ERR_INPUT "name:line:column: error: ..." for
 * all that is wrong, else as `fill` fails. */
MUST_USE bool rec_bundle_reader_new(const char *name, RecBundleFill fill, void *context,
                                    RecBundleReader **out, Err *err);
void rec_bundle_reader_free(RecBundleReader *reader);

/* What the first line said; borrowed. */
const RecBundleHeader *rec_bundle_header(const RecBundleReader *reader);

/* The next line into *line; fails as rec_bundle_reader_new. Not to be called after the last. */
MUST_USE bool rec_bundle_next(RecBundleReader *reader, RecBundleLine **line, Err *err);

/* How many entries of that station the bundle held, and the line and number of the first. */
typedef struct {
    int64_t count;
    int first_line;
    RecNumber first;
} RecBundlePart;

/* The same of those read so far; borrowed. */
const RecBundlePart *rec_bundle_part(const RecBundleReader *reader, size_t station);

/* Fail with "name:line:1: error: entry N of station ...: said". */
bool rec_bundle_refuse(const RecBundleReader *reader, int line, const char *station,
                       RecNumber number, Err *err, const char *format, ...) PRINTF_LIKE(6, 7);

/* What the exporting station signs: the bundle's hash, told from all else that it signs. */
void rec_bundle_message(const RecHash *hash, Text *out);

#endif
