/* What entries name. */
#include "records/named.h"

#include <stdlib.h>
#include <string.h>

void rec_named_clear(RecNamedSet *set)
{
    free(set->items);
    *set = (RecNamedSet){0};
}

static int compare(const void *a, const void *b)
{
    const RecNamed *x = a;
    const RecNamed *y = b;
    return x->is_text != y->is_text ? (int)x->is_text - (int)y->is_text
                                    : memcmp(x->hash, y->hash, sizeof x->hash);
}

void rec_named_sort(RecNamedSet *set)
{
    size_t kept = 0;
    if (set->count > 0) qsort(set->items, set->count, sizeof *set->items, compare);
    for (size_t i = 0; i < set->count; i++) {
        RecNamed *last = kept > 0 ? &set->items[kept - 1] : NULL;
        const RecNamed *next = &set->items[i];
        if (last != NULL && compare(last, next) == 0) {
            last->is_new = last->is_new || next->is_new;
            if (next->line < last->line) last->line = next->line;
        } else {
            set->items[kept++] = *next;
        }
    }
    set->count = kept;
}

void rec_named_add(RecNamedSet *set, const char *hex, RecNamed like)
{
    /* Runs name the same files again and again: these are thrown out before more room is taken. */
    if (set->count == set->capacity) {
        rec_named_sort(set);
        if (set->count >= set->capacity / 2) {
            set->capacity = set->capacity * 2 + 64;
            set->items = check_realloc(set->items, set->capacity, sizeof *set->items);
        }
    }
    CHECK(rec_hex_read(hex, strlen(hex), like.hash, sizeof like.hash));
    set->items[set->count++] = like;
}

void rec_named_add_entry(RecNamedSet *set, const RecEntry *entry, bool is_new, int line)
{
    size_t count = 0;
    const RecField *fields = rec_fields(entry->kind_code, &count);
    const RecNamed content = {.line = line, .is_new = is_new};
    const RecNamed text = {.line = line, .is_new = is_new, .is_text = true};
    for (size_t i = 0; i < count; i++) {
        RecWant want = fields[i].want;
        const char *hash = rec_body_text(entry, fields[i].key);
        if (want == WANT_CONTENTS) {
            const char *name = NULL;
            for (size_t j = 0; rec_body_content(entry, j, &name, &hash); j++) {
                rec_named_add(set, hash, content);
            }
        } else if (hash[0] != '\0' && (want == WANT_VEIL || want == WANT_VEIL_OR_NONE)) {
            rec_named_add(set, hash, text);
        } else if (hash[0] != '\0' && (want == WANT_CONTENT || want == WANT_CONTENT_OR_NONE)) {
            rec_named_add(set, hash, content);
        }
    }
}

RecNamed *rec_named_find(const RecNamedSet *set, const char *hex, bool is_text)
{
    RecNamed key = {.is_text = is_text};
    if (set->count == 0 || !rec_hex_read(hex, strlen(hex), key.hash, sizeof key.hash)) return NULL;
    return bsearch(&key, set->items, set->count, sizeof key, compare);
}
