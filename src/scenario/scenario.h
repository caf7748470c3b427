/* A scenario: what is wrong with the line, what the person is shown and asked, how it is judged. */
#ifndef SCENARIO_SCENARIO_H
#define SCENARIO_SCENARIO_H

#include "scenario/site.h"

enum {
    SCENARIO_SCENES_MAX = 200,
    SCENARIO_ANSWERS_MAX = 8,
    SCENARIO_STEPS_MAX = 8,    /* of one arrange */
    SCENARIO_GIVEN_MAX = 12,   /* rows of one given record */
    SCENARIO_VALUES_MAX = 6,   /* what one of them may say */
    SCENARIO_BRANCHES_MAX = 8, /* of one scene */
    SCENARIO_NEEDS_MAX = 8,
    SCENARIO_ALTERNATIVES_MAX = 8,       /* of one one_of */
    SCENARIO_DRAWS_MAX = 4,              /* one_of among the faults */
    SCENARIO_SCRIPTS_MAX = (1 + 13) * 8, /* right, and for each critical step */
    SCENARIO_FAULTS_MAX = 8,
    SCENARIO_STOCKS_MAX = 8,
    SCENARIO_KIT_MAX = 16,
    SCENARIO_RUBRIC_MAX = 100,
    SCENARIO_NEED_BYTES = 256, /* one pattern over the log */
    SCENARIO_ORDER_MAX = 8,    /* patterns of one in_order, fields of one same */
    SCENARIO_WITHIN_S_MAX = 3600,
    SCENARIO_MINUTES_MAX = 60,
    SCENARIO_CRITICAL_MAX = 13, /* K1 to K13 */
    SCENARIO_MISTAKES_MAX = 32, /* M1 to M32 */
};

typedef enum {
    SCENE_TELL,
    SCENE_PASS,
    SCENE_PLACE,
    SCENE_TURN,
    SCENE_DECIDE,
    SCENE_ARRANGE,
    SCENE_WRITE
} SceneKind;
extern const char *const scenario_scene_words[];

/* A pattern over the log, as it stands in the file; its text is NULL when there is none. */
typedef struct {
    const char *text;
    ErrPlace place; /* of its first letter */
} RubricPattern;

typedef struct {
    const char *id;
    SiteText text;
    bool right;
    const char *mistake; /* "M15", or "" */
    int next;            /* index of the scene that follows; the count of scenes ends the run */
    ErrPlace place;
} Answer;

/* A step to put in order. */
typedef struct {
    const char *id;
    SiteText text;
    unsigned after; /* bit i: it must come after step i */
} Step;

/* A row of a record that somebody else wrote: what it says, and what it should say. */
typedef struct {
    const char *row, *value, *should_be;
    const char *values[SCENARIO_VALUES_MAX]; /* what it may be made to say */
    int value_count;
} GivenRow;

/* Another scene than the next, when the log shows something or enough answers were right. */
typedef struct {
    RubricPattern seen;     /* or none, and then */
    int64_t right_at_least; /* so many answers were right so far */
    int next;
} Branch;

typedef struct {
    const char *id;
    SceneKind kind;
    SiteText text;
    SiteText hint;                        /* shown in practice alone; may be none */
    Answer answers[SCENARIO_ANSWERS_MAX]; /* of decide */
    int answer_count;
    Step steps[SCENARIO_STEPS_MAX]; /* of arrange */
    int step_count;
    GivenRow given[SCENARIO_GIVEN_MAX]; /* of write; none: the person's own sheet */
    int given_count;
    int piece;              /* of turn and place: index of a piece of the site, of turn a wire */
    bool hardest;           /* of turn: asked for the hardest way to find it, else the easiest */
    int64_t within_percent; /* of place: so much more signal than at the weakest place is right */
    bool is_shuffled;       /* of decide: the seed draws the order of the answers */
    Branch branches[SCENARIO_BRANCHES_MAX]; /* the first that holds goes before every next */
    int branch_count;
    int next; /* of the others than decide */
    ErrPlace place;
} Scene;

typedef enum {
    FAULT_REJECT_SHIFT,
    FAULT_SENSITIVITY,
    FAULT_WRONG_PROGRAM,
    FAULT_BELT_SPEED,
    FAULT_ENCODER_LOST,
    FAULT_EYE_DIRTY,
    FAULT_EYE_BLOCKED,
    FAULT_STROKE_LONG,
    FAULT_REJECT_OFF,
    FAULT_TEST_MODE, /* the reject device was left out after service */
    FAULT_LOW_AIR,
    FAULT_CONFIRMATION_LOST,
    FAULT_BIN_FILLED,
    FAULT_BIN_UNLOCKED,
    FAULT_BIN_MISSING,
    FAULT_HEAD_BYPASSED,
    FAULT_HEAD_COLD,
    FAULT_JAM,
    FAULT_PACKS_TURNED,
    FAULT_TEMPERATURE,
    FAULT_BELT_METAL,
    FAULT_CONTAMINANT,
    FAULT_PIECE_FALLS,
    FAULT_ALARM_CLEARED
} FaultKind;

/* A fault sets in when `after_passes` test packs with a piece have gone under the head; 0: from the
 * start. Behind each number stand the kinds that have it. */
typedef struct {
    FaultKind kind;
    int64_t after_passes;
    int64_t shift_us;               /* reject-late, reject-early: positive is late */
    int64_t limit_percent;          /* sensitivity-changed: the signal needed, 100 as validated */
    int64_t percent;                /* belt-speed: of the line's own; head-cold: of every signal */
    int64_t noise_percent;          /* head-cold: of the noise as validated */
    int64_t late_um;                /* eye-dirty */
    int64_t stroke_us;              /* stroke-long */
    int64_t blows, blow_us;         /* low-air: blows in the full tank, time to fill it by one */
    int64_t packs;                  /* bin-filled: good packs of before that lie in it */
    int64_t every;                  /* packs-turned: 3 for every third */
    int64_t temperature_mc;         /* product-temperature, in thousandths of a degree Celsius */
    int64_t conductivity_us_per_m;  /* the same, in millionths of S/m; 0: by the kind's per_k */
    int64_t thawed_percent;         /* the same: so much of it, around, conducts so; 0: all of it */
    int64_t diameter_um, length_um; /* metal-in-belt and contaminant; length 0: a sphere */
    int64_t belt_um;                /* metal-in-belt: length of the whole belt */
    int64_t at_pack;                /* contaminant: in this good pack from then on, from 1 */
    const Metal *metal;
    int product;            /* wrong-program: index of the product whose program runs */
    int piece;              /* piece-falls: index of the site's piece that falls out of its pack */
    int fail_safe;          /* alarm-cleared: index of site_fail_safe_words */
    int64_t minutes_before; /* alarm-cleared: the run */
    ErrPlace place;
} Fault;

/* What a happening calls a kind of fault: "low-air". */
const char *scenario_fault_word(FaultKind kind);

/* One of these lists of faults holds in a run, as its seed draws. */
typedef struct {
    struct {
        Fault faults[SCENARIO_FAULTS_MAX];
        int count;
    } alternatives[SCENARIO_ALTERNATIVES_MAX];
    int count;
} FaultDraw;

/* Where stock may be, and what stands there from before the run. */
typedef enum { STOCK_PALLET, STOCK_STORE, STOCK_LORRY, STOCK_PLACE_COUNT } StockPlace;
extern const char *const scenario_stock_words[];

typedef struct {
    StockPlace place;
    int64_t from_us, to_us; /* time of day when it was made */
    int64_t packs;
} Stock;

/* What a line of the rubric wants of the log. Exactly one of rule, seen, never, in_order and
 * for_every is there. */
typedef struct {
    const char *rule; /* a ready-made one, which stands alone */
    RubricPattern seen, never, for_every;
    RubricPattern in_order[SCENARIO_ORDER_MAX];
    int in_order_count;
    RubricPattern followed_by, preceded_by; /* of for_every: one of them */
    RubricPattern same[SCENARIO_ORDER_MAX]; /* of for_every: names of fields, equal in both lines */
    int same_count;
    RubricPattern after, before; /* where it counts */
    RubricPattern put_right;     /* what makes a miss a recovered one */
    int64_t within_us;           /* after the line of after, or of for_every; 0: no limit */
    int64_t at_least;            /* of seen */
    ErrPlace place;
} RubricNeed;

typedef struct {
    const char *id;
    int critical; /* 1..13 for K1..K13, 0: not critical */
    int64_t points;
    SiteText text, why;
    const char *mistake; /* what missing it is: "M15", or "" to let the reason say so */
    RubricNeed need;
    ErrPlace place;
} RubricLine;

/* A script that belongs to the scenario: a right one, of which one passes in each form, or one that
 * misses a critical line. */
typedef struct {
    const char *file; /* beside the scenario's own */
    int misses;       /* 1..13; 0: the right one */
    ErrPlace place;
} OwnScript;

typedef struct {
    JsonDoc *document;
    const Site *site; /* borrowed */
    const char *id;
    SiteText title;
    const SiteLine *line;
    int product; /* index: what is being packed */
    SiteRole role;
    SitePlanReason reason;
    const SitePlan *plan;
    int64_t minutes;
    const char *date;
    int64_t clock_us;           /* time of day at the run's time 0 */
    int64_t last_good_check_us; /* time of day */
    bool fed;                   /* packs come from upstream when the run begins */
    int kit[SCENARIO_KIT_MAX];  /* indexes of the site's pieces in the tray */
    int kit_count;
    Fault faults[SCENARIO_FAULTS_MAX]; /* first those of every form */
    int fault_count;

    /* What a seed draws from; the fields above hold the first of each. */
    struct {
        int pieces[SCENARIO_KIT_MAX];
        int count;
    } kits[SCENARIO_ALTERNATIVES_MAX];
    int kits_count; /* 0: there is only the one above */
    FaultDraw draws[SCENARIO_DRAWS_MAX];
    int draw_count, fixed_fault_count;

    RubricPattern needs[SCENARIO_NEEDS_MAX]; /* what a right run of a seed that counts shows */
    int need_count;
    Stock stocks[SCENARIO_STOCKS_MAX];
    int stock_count;
    Scene *scenes;
    int scene_count;
    RubricLine *rubric;
    int rubric_count;
    int64_t pass_percent;
    OwnScript scripts[SCENARIO_SCRIPTS_MAX];
    int script_count;
} Scenario;

/* Read a scenario of `site` (borrowed, must outlive it). Everything it names is looked up and
 * checked; so is that every scene can be reached and that the points add up to something. The
 * patterns of the rubric are not: they are the scoring's. The caller ends *out with scenario_free.
 * ERR_INPUT at the place to blame. */
MUST_USE bool scenario_parse(const char *file, const char *bytes, size_t len, const Site *site,
                             Scenario **out, Err *err);
void scenario_free(Scenario *scenario);

/* The form of a scenario that a seed draws: one kit and one list of faults of each that it offers,
 * the answers and the steps in an order of their own. The form borrows from the scenario; the
 * caller ends it with scenario_form_free. The same seed draws the same form. */
Scenario *scenario_form(const Scenario *scenario, uint64_t seed);
void scenario_form_free(Scenario *form);

/* Whether the steps of an arrange, in the order of order[], each come after all they must. */
bool scenario_order_is_right(const Scene *scene, const int order[]);

/* A time of day, "HH:MM" or "HH:MM:SS", in microseconds; false when it is none. */
MUST_USE bool scenario_clock_parse(const char *text, int64_t *us);

/* The site's id that a scenario names, without reading the rest; "" when it names none. */
const char *scenario_site_id(const JsonDoc *document);

#endif
