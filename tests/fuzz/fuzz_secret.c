/* Any bytes are a blob or one error, whatever opens it; and as text they are a recovery code, which
 * printed reads back the same, or one error. */
#include <string.h>

#include "fuzz/fuzz.h"
#include "records/secrets.h"

/* Whose blobs the corpus holds, so that whole ones are there too. */
static const char PERSON[] = "6f1c2a54-9d0e-4b7a-8c33-51e0a7d4b2f9";

static void try_blob(const Text *blob)
{
    unsigned char seed[REC_SEED_BYTES] = {0};
    bool right = false;
    Err err = {0};
    bool is_pin = rec_pin_check(PERSON, blob, "4711", &right, &err);
    CHECK(is_pin || err.code == ERR_DAMAGE);
    bool is_seed = rec_passphrase_open(PERSON, blob, "some passphrase", seed, &right, &err);
    CHECK(is_seed || err.code == ERR_DAMAGE);
    bool is_copy =
        rec_recovery_open(PERSON, blob, "0000-0000-0000-0000-0000-0000-0000", seed, &right, &err);
    CHECK(is_copy || err.code == ERR_DAMAGE);
    CHECK((int)is_pin + (int)is_seed + (int)is_copy <= 1);
    CHECK(!is_pin || blob->len == REC_PIN_BLOB_BYTES);
    CHECK((!is_seed && !is_copy) || blob->len == REC_SEED_BLOB_BYTES);
}

static void try_code(const char *typed)
{
    unsigned char bits[REC_RECOVERY_BYTES];
    unsigned char again[REC_RECOVERY_BYTES];
    char code[REC_RECOVERY_TEXT_BYTES];
    Err err = {0};
    if (!rec_recovery_read(typed, bits, &err)) {
        CHECK(err.code == ERR_INPUT);
        return;
    }
    rec_recovery_print(bits, code);
    CHECK(strlen(code) == REC_RECOVERY_TEXT_BYTES - 1);
    CHECK(rec_recovery_read(code, again, &err) && memcmp(bits, again, sizeof bits) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Text blob = {0};
    Err err = {0};
    text_add_bytes(&blob, (const char *)bytes, count);
    try_blob(&blob);
    try_code(text_string(&blob));
    bool fits = rec_passphrase_fits(text_string(&blob), "Rosa", &err);
    CHECK(fits == (err.code == ERR_NONE));
    text_clear(&blob);
    return 0;
}
