/* The kinds of entries: which fields each body has, what may stand in them, and where in a RecNew a
 * field comes from. Not for use outside records/. */
#ifndef RECORDS_KINDS_H
#define RECORDS_KINDS_H

#include "records/ledger.h"

/* What a field may hold. */
typedef enum {
    WANT_WHOLE, /* a whole number */
    WANT_COUNT, /* one of at least 0 */
    WANT_BOOL,
    WANT_TEXT,       /* one that names nobody: up to REC_REASON_BYTES_MAX bytes */
    WANT_WORD,       /* text_is_id */
    WANT_CHOICE,     /* one of `words` */
    WANT_DATE,       /* "YYYY-MM-DD" */
    WANT_PERSON,     /* a person's UUID */
    WANT_BUDDY,      /* the same or "" */
    WANT_STATION,    /* a station's UUID */
    WANT_ABOUT,      /* hash of an entry */
    WANT_ABOUT_WHOM, /* whom that one is about, or "" */
    WANT_VEIL,       /* commitment to a text that may be erased */
    WANT_VEIL_OR_NONE,
    WANT_CONTENT, /* hash of a content */
    WANT_CONTENT_OR_NONE,
    WANT_HASH, /* any other */
    WANT_PUBLIC_KEY,
    WANT_SIGNATURE,
    WANT_SEED,     /* 0 to 2^64 - 1 in decimal: too wide for a JSON number */
    WANT_WORDS,    /* array of ids */
    WANT_CHOICES,  /* array of `words` */
    WANT_EVIDENCE, /* array of hashes of entries */
    WANT_CONTENTS, /* {name: hash of a content} */
    WANT_HEAD,     /* {hash, number} */
    WANT_HEADS,    /* array of {hash, number, signature, station} */
    WANT_RESULT,   /* anything */
} RecWant;

typedef struct {
    RecKind kind;
    const char *key;
    RecWant want;
    bool is_subject;   /* it is the fact's subject */
    size_t at;         /* offset in RecNew; REC_NOT_GIVEN: it is computed, or another struct's */
    const char *words; /* of a choice, a blank between two */
} RecField;

#define REC_NOT_GIVEN SIZE_MAX

/* The fields of a kind: `count` of them from the one returned. */
const RecField *rec_fields(RecKind kind, size_t *count);

/* The kind of that name; false when there is none. */
MUST_USE bool rec_kind_find(const char *name, RecKind *kind);

/* True when `value` fits the field. */
MUST_USE bool rec_field_fits(const RecField *field, const JsonValue *value);

/* The same of a text, where the field is no list, and of a text in a list of texts. */
MUST_USE bool rec_text_fits(const RecField *field, const char *text);
MUST_USE bool rec_item_fits(const RecField *field, const char *text);

/* `body` has exactly the fields of its kind, each well-formed; else ERR_INPUT says which is not. */
MUST_USE bool rec_body_check(const JsonValue *body, RecKind kind, Err *err);

/* True for a UUID in lower case, for a hash or key of 64 and for a signature of 128 hex digits. */
MUST_USE bool rec_is_id(const char *text);
MUST_USE bool rec_is_hash(const char *text);
MUST_USE bool rec_is_signature(const char *text);

/* A seed as it stands in an entry; false for any other spelling. */
MUST_USE bool rec_seed_read(const char *text, uint64_t *seed);

#endif
