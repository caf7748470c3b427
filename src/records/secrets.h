/* What a person knows and the program must check: a PIN, a passphrase, a recovery code. Bytes in,
 * bytes out; whoever calls stores the blobs, records the tries and wipes what was typed (rec_wipe).
 *
 * A PIN gates the door and proves little: whoever can read the store can try all of four digits in
 * half an hour. A passphrase opens the person's signing seed; so does, once it is
 * forgotten, the recovery code on the paper kept by the person.
 *
 * A blob is, in this order:
 *
 *     1 byte     version, 1
 *     1 byte     what opens it: 1 PIN, 2 passphrase, 3 recovery code
 *     16 bytes   salt           key = Argon2id(what is typed, salt), 64 MiB, one lane,
 *                               2 passes for a PIN, else 3
 *     24 bytes   nonce
 *     16 or 48   XChaCha20-Poly1305 of nothing (PIN) or of the seed under that key; associated are
 *                all bytes before and the person's id
 *     8 bytes    the first of SHA-256(person's id || all bytes before)
 *
 * The last bytes tell a blob that is torn, altered or another person's (ERR_DAMAGE) from a wrong
 * word. They hold out against accidents alone; against a hand that makes them anew there is the
 * seal: for such a blob nothing is the right word.
 */
#ifndef RECORDS_SECRETS_H
#define RECORDS_SECRETS_H

#include <stdint.h>

#include "base/err.h"
#include "base/text.h"
#include "records/ledger.h"
#include "records/sodium.h"

enum {
    REC_PIN_DIGITS_MIN = 4,
    REC_PIN_DIGITS_MAX = 8,
    REC_PASSPHRASE_CHARACTERS_MIN = 12,
    REC_PASSPHRASE_BYTES_MAX = 200,
    REC_PIN_PASSES = 2, /* of Argon2id */
    REC_PASSPHRASE_PASSES = 3,
    REC_SECRET_MEMORY_KIB = 65536,
    REC_RECOVERY_BYTES = 16,      /* 128 bits */
    REC_RECOVERY_TEXT_BYTES = 35, /* seven groups of four with '-' between, and a NUL */
    REC_PIN_BLOB_BYTES = 66,
    REC_SEED_BLOB_BYTES = 98,
};

/* Below, `person` is an id in the form of a UUID, `blob` what was stored, and *right is the answer:
 * was that the word? When it is false nothing else is filled. */

/* Make the blob by which `pin` is checked. ERR_INPUT when it is not 4 to 8 digits 0-9; `blob` is
 * then as it was. */
MUST_USE bool rec_pin_set(const char *person, const char *pin, Text *blob, Err *err);

/* Is it the PIN? ERR_DAMAGE for a bad blob. */
MUST_USE bool rec_pin_check(const char *person, const Text *blob, const char *pin, bool *right,
                            Err *err);

/* How long a person must wait before the next try, 0 when it may be now: nothing after three failed
 * tries in a row, 5 s after the fourth, then twice as long after each, 15 min at most.
 *
 *   failed         tries since the last right one
 *   last_ticks_us  the ticks (os_uptime_us) of the last of them, as its entry holds them
 *   ticks_us       those of now; both are at least 0
 *
 * The PC's clock has no part in it, so moving it changes nothing. Ticks begin anew when the machine
 * starts: a restart can lengthen the wait, which then counts from the start, and never shorten it.
 */
int64_t rec_wait_us(int64_t failed, int64_t last_ticks_us, int64_t ticks_us);

/* May this be the passphrase of the person called `name` ("" when not known)? ERR_INPUT for what is
 * no UTF-8, holds control characters, is one character over and over or is the name (whatever the
 * blanks and the case of A-Z); ERR_RANGE below 12 characters or over 200 bytes.
 *
 * The bytes count as typed, without Unicode normalisation: a letter with a mark typed as one
 * character or as two makes two passphrases. A keyboard types it in one way. */
MUST_USE bool rec_passphrase_fits(const char *passphrase, const char *name, Err *err);

/* Seal a person's signing seed under a passphrase for which rec_passphrase_fits was true. */
void rec_passphrase_set(const char *person, const char *passphrase,
                        const unsigned char seed[REC_SEED_BYTES], Text *blob);

/* Open it; the caller wipes `seed` right after signing. ERR_DAMAGE for a bad blob. */
MUST_USE bool rec_passphrase_open(const char *person, const Text *blob, const char *passphrase,
                                  unsigned char seed[REC_SEED_BYTES], bool *right, Err *err);

/* Put the blob under another passphrase, which fits, when `old` is right; the key stays the same.
 * ERR_DAMAGE for a bad blob. */
MUST_USE bool rec_passphrase_change(const char *person, Text *blob, const char *old,
                                    const char *passphrase, bool *right, Err *err);

/* Make a new recovery code and seal the seed under it. `code` is to be shown or printed once and
 * wiped: no copy of it is kept. */
void rec_recovery_set(const char *person, const unsigned char seed[REC_SEED_BYTES],
                      char code[REC_RECOVERY_TEXT_BYTES], Text *blob);

/* Open by what was typed. ERR_INPUT as rec_recovery_read: a slip, no try; ERR_DAMAGE for a bad
 * blob. */
MUST_USE bool rec_recovery_open(const char *person, const Text *blob, const char *typed,
                                unsigned char seed[REC_SEED_BYTES], bool *right, Err *err);

/* The text of a recovery code: 26 characters for the bits, most significant first, the last two
 * bits 0, and 2 check characters. The characters are 0-9 and A-Z without I, L, O, U (Crockford's
 * base 32).
 *
 * The check: with each character as an element c of GF(32), made by x^5 + x^2 + 1, both sum c_i and
 * sum c_i a^i are 0, i counting from the end, a = x. That is the Reed-Solomon code over GF(32)
 * (I. S. Reed, G. Solomon, Polynomial codes over certain finite fields, J. SIAM 8, 1960, 300-304)
 * cut to 28 symbols, of distance 3: any one or two wrong characters show, so any swapped two do. */
void rec_recovery_print(const unsigned char bits[REC_RECOVERY_BYTES],
                        char code[REC_RECOVERY_TEXT_BYTES]);

/* Read such a text as people type it: any case, blanks and '-' anywhere, O for 0, I and L for 1.
 * ERR_INPUT says what is wrong without repeating the code; `bits` is then as it was. */
MUST_USE bool rec_recovery_read(const char *typed, unsigned char bits[REC_RECOVERY_BYTES],
                                Err *err);

#endif
