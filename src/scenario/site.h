/* A site as its trainer describes it: heads, products, test pieces, lines and check plans; with the
 * kinds of head and product that fill in what a trainer cannot know. */
#ifndef SCENARIO_SITE_H
#define SCENARIO_SITE_H

#include <stdbool.h>
#include <stdint.h>

#include "detector/detect.h"
#include "detector/fit.h"
#include "line/line.h"
#include "scenario/json.h"
#include "scenario/metals.h"

enum {
    SITE_ID_BYTES = 65,
    SITE_LANGUAGES_MAX = 16,
    SITE_HEADS_MAX = 32,
    SITE_PRODUCTS_MAX = 512,
    SITE_PIECES_MAX = 1024,
    SITE_LINES_MAX = 64,
    SITE_PROGRAMS_MAX = 64, /* of one line */
    SITE_VALIDATED_MAX = 8, /* spheres of one program */
    SITE_PLAN_METALS_MAX = 8,
    SITE_PEOPLE_MAX = 5000,
    SITE_NAME_BYTES_MAX = 200, /* of a person */
    SITE_TEXT_BYTES_MAX = 4000,
};

/* Why a check is made; also the names of the check plans. */
typedef enum {
    SITE_PLAN_START,
    SITE_PLAN_INTERVAL,
    SITE_PLAN_CHANGEOVER,
    SITE_PLAN_END,
    SITE_PLAN_AFTER_FAILURE,
    SITE_PLAN_COUNT
} SitePlanReason;
extern const char *const site_plan_words[]; /* NULL-ended, in the order of the enum */

/* Who does what on the floor; common practice, no source. */
typedef enum {
    SITE_LINE_CHECKER,
    SITE_LINE_LEADER,
    SITE_SUPERVISOR,
    SITE_QUALITY,
    SITE_MAINTENANCE,
    SITE_WAREHOUSE,
    SITE_FOOD_SAFETY, /* leads the food-safety team and owns the plan */
    SITE_ROLE_COUNT
} SiteRole;
extern const char *const site_role_words[];

/* Where along the pack a piece lies, and at which height; travel comes first: leading. */
typedef enum { SITE_LEADING, SITE_MIDDLE, SITE_TRAILING, SITE_SPOT_COUNT } SiteSpot;
extern const char *const site_spot_words[];
typedef enum { SITE_ON_TOP, SITE_INSIDE, SITE_UNDERNEATH, SITE_HEIGHT_COUNT } SiteHeight;
extern const char *const site_height_words[];

/* How a piece is: only a sound one may be used. */
typedef enum { SITE_SOUND, SITE_CRACKED, SITE_UNREADABLE } SiteState;
extern const char *const site_state_words[];

/* What stops the line, where it is built so, when the line itself is not as it must be: what a
 * LineMonitor of the same number looks at, and the return of power. */
enum { SITE_POWER = LINE_MONITOR_COUNT, SITE_FAIL_SAFE_COUNT };
extern const char *const site_fail_safe_words[];

/* A text in several languages, borrowed from the document: "en" -> words. */
typedef struct {
    const JsonValue *by_language; /* an object; NULL: no text */
} SiteText;

/* The text in `language`, else in English, else in the first there is; "" for none. */
const char *site_text(SiteText text, const char *language);

/* Read the text object under `key`: BCP 47 tags to strings of 1..SITE_TEXT_BYTES_MAX bytes. */
MUST_USE bool site_read_text(const JsonValue *object, const char *key, bool required, SiteText *out,
                             Err *err);

typedef struct {
    char id[SITE_ID_BYTES];
    DetectHead head; /* noise_v is 0 until the fit */
    ErrPlace place;
    double found_probability; /* what "always found" means on this site */
} SiteHead;

typedef struct {
    char id[SITE_ID_BYTES];
    SiteText name;
    ProductBlock block;              /* as learned; centre_up_m is set for each line */
    double temperature_c;            /* at which the block is as it is */
    double at_c, per_k;              /* how its conductivity follows the temperature, by its kind */
    bool heights[SITE_HEIGHT_COUNT]; /* where the drawing lets a piece go */
    bool is_sealed;                  /* not opened for a test: a piece lies on it or under it */
    ErrPlace place;
} SiteProduct;

typedef struct {
    char id[SITE_ID_BYTES];
    const Metal *metal;
    bool is_wire;
    int64_t diameter_um, length_um; /* length of a wire; else 0 */
    SiteState state;
    const char *certificate, *form, *good_until; /* good_until: YYYY-MM-DD */
    ErrPlace place;
} SitePiece;

typedef struct {
    const Metal *metal;
    int64_t diameter_um;
    ErrPlace place;
} SiteValidated;

typedef struct {
    int product; /* index */
    SiteValidated validated[SITE_VALIDATED_MAX];
    int validated_count;
    ErrPlace place;
} SiteProgram;

typedef struct {
    bool is_there;
    const Metal *metals[SITE_PLAN_METALS_MAX];
    int metal_count;
    bool spots[SITE_SPOT_COUNT];
    bool by_metal;         /* order: all places of one metal first */
    bool empty_first;      /* every test pack is sent without a piece and accepted before */
    int64_t good_run;      /* good packs without a reject after the check; 0: none asked */
    int64_t off_centre_um; /* how far from the middle of the belt still counts as the centre */
    SiteRole bin_opened_by;
    int64_t minutes; /* of the interval plan; else 0 */
} SitePlan;

/* What takes a pack off the line. */
typedef enum { SITE_AIR_JET, SITE_PUSHER, SITE_FLAP } SiteReject;

typedef struct {
    char id[SITE_ID_BYTES];
    SiteText name;
    int head; /* index */
    SiteReject reject;
    LineSetup setup; /* pack_length_um is set for each product */
    int64_t belt_above_floor_um;
    bool fail_safes[SITE_FAIL_SAFE_COUNT]; /* those it has; the setup's monitors are the same */
    SiteRole reset_by;                     /* who may reset their alarms */
    SiteProgram programs[SITE_PROGRAMS_MAX];
    int program_count;
    SitePlan plans[SITE_PLAN_COUNT];
    ErrPlace place;
} SiteLine;

/* When a person works, and as what. */
typedef enum { SITE_EARLY, SITE_LATE, SITE_NIGHT, SITE_DAY, SITE_SHIFT_COUNT } SiteShift;
extern const char *const site_shift_words[];
typedef enum {
    SITE_JOB_LINE_CHECKER,
    SITE_JOB_LINE_LEADER,
    SITE_JOB_SUPERVISOR,
    SITE_JOB_QUALITY,
    SITE_JOB_MAINTENANCE,
    SITE_JOB_WAREHOUSE,
    SITE_JOB_FOOD_SAFETY,
    SITE_JOB_TRAINER,
    SITE_JOB_COUNT
} SiteJob;
extern const char *const site_job_words[];

typedef struct {
    const char *name; /* UTF-8, 1 to SITE_NAME_BYTES_MAX bytes, once in a site */
    SiteShift shift;  /* SITE_DAY unless it is given */
    SiteJob job;      /* SITE_JOB_LINE_CHECKER unless a role is given */
} SitePerson;

typedef struct Competence Competence; /* competence.h */

typedef struct {
    JsonDoc *document;
    const MetalTable *metals; /* borrowed */
    char id[SITE_ID_BYTES];
    SiteText name;
    const char *languages[SITE_LANGUAGES_MAX];
    int language_count;
    SiteHead *heads;
    SiteProduct *products;
    SitePiece *pieces;
    SiteLine *lines;
    int head_count, product_count, piece_count, line_count;
    SiteRole release_by; /* who may release held stock */
    SitePerson *people;  /* who is expected at the door; may be none */
    int person_count;
    Competence *competences; /* may be none */
    int competence_count;
} Site;

/* The kinds of head and product: starting values for what a trainer does not know. */
typedef struct Kinds Kinds;
MUST_USE bool kinds_parse(const char *file, const char *bytes, size_t len, Kinds **out, Err *err);
void kinds_free(Kinds *kinds);

/* Read a site. `metals` and `kinds` are borrowed and must outlive it. Every id, unit and limit is
 * checked, and that each part only points to others that are there. The caller ends *out with
 * site_free. ERR_INPUT at the place to blame; with err->hear (base/err.h) at each element of a list
 * that is wrong. */
MUST_USE bool site_parse(const char *file, const char *bytes, size_t len, const MetalTable *metals,
                         const Kinds *kinds, Site **out, Err *err);
void site_free(Site *site);

/* The lists of a site whose elements can be looked at alone, in the order of site_list_words:
 * "lines", "products", "pieces", "people". */
typedef enum { SITE_LINES, SITE_PRODUCTS, SITE_PIECES, SITE_PEOPLE, SITE_LIST_COUNT } SiteList;
extern const char *const site_list_words[];

/* How many elements a list holds at most. */
int site_list_max(SiteList list);

/* Read one value as an element of a list of `site`, as site_parse would, but for whether it is
 * there twice. ERR_INPUT at the place to blame. */
MUST_USE bool site_check_element(const Site *site, const MetalTable *metals, const Kinds *kinds,
                                 SiteList list, const JsonValue *value, Err *err);

/* Read a date, YYYY-MM-DD, under `key`. */
MUST_USE bool site_read_date(const JsonValue *object, const char *key, bool required,
                             const char **out, Err *err);

/* Indexes by id, -1 for none. */
int site_find_head(const Site *site, const char *id);
int site_find_product(const Site *site, const char *id);
int site_find_piece(const Site *site, const char *id);
int site_find_line(const Site *site, const char *id);

/* The line's program for a product, NULL when it has none. */
const SiteProgram *site_program(const SiteLine *line, int product);

/* The product as it lies on this line: its block with the centre's height in the aperture. */
ProductBlock site_block(const Site *site, const SiteLine *line, int product);

/* A product's conductivity in S/m when it is so warm. */
double site_conductivity_at(const SiteProduct *product, double temperature_c);

/* --- Fitted values --------------------------------------------------------------------------- */

/* What the fit found for one head. */
typedef struct {
    char head[SITE_ID_BYTES];
    double noise_v, variation_factor;
} SiteFitted;

/* Fit every head that a line uses, to all that is validated on it. *out is an array of
 * site->head_count (unused heads: noise 0, factor 1) which the caller frees. `report`, if not NULL,
 * gets one line of text for each validated sphere whose model stays more than `margin` (in ln of
 * the ratio) from the site's limit. ERR_INPUT when no fit exists, with the sphere to blame. */
typedef void SiteFitWarning(void *context, ErrPlace place, const char *text);
MUST_USE bool site_fit(const Site *site, double margin, SiteFitWarning *warn, void *context,
                       SiteFitted **out, Err *err);

/* The fitted values as JSON text, and back; `fitted` has site->head_count elements. */
void site_fitted_print(const Site *site, const SiteFitted *fitted, Text *out);
MUST_USE bool site_fitted_parse(const Site *site, const char *file, const char *bytes, size_t len,
                                SiteFitted **out, Err *err);

#endif
