/* The bench: set-ups of a head, a product and a piece of metal, and all that is computed of
 * them. No drawing.
 *
 * A piece is placed from the pack's middle, along the travel and across the belt, and from the
 * pack's bottom. A wire points along azimuth and elevation: 0, 0 is lengthways; 90, 0
 * crossways; 0, 90 vertical.
 */
#ifndef UI_BENCH_H
#define UI_BENCH_H

#include "app/work.h"

enum {
    BENCH_SIDES = 2,
    BENCH_MAP_ACROSS = 25, /* points of a map, from wall to wall */
    BENCH_MAP_UP = 13,     /* from floor to roof */
};

/* What can be chosen of a piece's size. */
#define BENCH_THICK_MM_MIN 0.1
#define BENCH_THICK_MM_MAX 20.0
#define BENCH_LONG_MM_MAX 200.0

/* From these chances on the puzzle calls a piece hidden, and found. */
#define BENCH_HIDDEN 0.01
#define BENCH_FOUND 0.999

typedef struct {
    int head, product; /* indexes of the site */
    int metal;         /* index of the metals */
    bool is_wire;
    double diameter_mm, length_mm;
    double along_mm, across_mm, up_mm;
    double azimuth_deg, elevation_deg; /* 0 to below 180; above -90 to 90 */
} BenchSide;

/* What is computed of a side. Borrowed until the third other side is asked for. */
typedef struct {
    SiteHead head;     /* with the fitted noise */
    ProductBlock pack; /* with the fitted variations, in the aperture's axes */
    DetectGrid travel; /* of the piece, m */
    double *signal;    /* at each point, in limits: the part in the direction of the peak */
    double ratio;      /* its largest */
    double peak_v;
    double kappa;
    double peak[2]; /* the vector at the peak, in limits, along and across */
    double chance, chance_all_turns;
    double up_in_aperture_mm; /* of the piece */
    /* The smallest sphere always found, mm: BENCH_MAP_UP rows from the floor, each of
     * BENCH_MAP_ACROSS from -y; infinite where none is. */
    double *map;
    int map_metal;
} BenchView;

typedef struct BenchModel BenchModel;

/* Of a site; `work` is borrowed. NULL when no line of the site has a program: there is nothing
 * to set up. The caller ends it with bench_model_free. */
BenchModel *bench_model_new(const Work *work);
void bench_model_free(BenchModel *model);
const MetalTable *bench_metals(const BenchModel *model);

/* True when a line uses the head. */
bool bench_has_head(const BenchModel *model, int head);
/* True when the product goes through the head, or when a line has a program for it there. */
bool bench_has_product(const BenchModel *model, int head, int product);

/* The pack as it goes through the side's head. */
ProductBlock bench_pack(const BenchModel *model, const BenchSide *side);

/* A side of one piece of the site in a product under a head; of `lying` only where the piece lies
 * and how it is turned is read. */
BenchSide bench_side(const BenchModel *model, int head, int product, const SitePiece *piece,
                     const BenchSide *lying);

/* True when two sides are alike in everything. */
bool bench_same(const BenchSide *a, const BenchSide *b);

/* Bring a side within its ranges: a product that the head takes, a piece that is inside the
 * pack. */
void bench_settle(const BenchModel *model, BenchSide *side);

/* The first set-ups: a wire, the largest head with its wettest product, and the smallest with
 * its. */
void bench_first(BenchModel *model, BenchSide sides[BENCH_SIDES]);

/* All numbers of a side, computed when it is a new one. */
const BenchView *bench_view(BenchModel *model, const BenchSide *side);

/* A wire for the puzzle, of the first side's metal: one turn hides it in the middle of the
 * first side's pack, another does not, and the smallest head finds it. Both sides get it. False
 * when this site's heads and products give no such wire; the sides are untouched. */
MUST_USE bool bench_puzzle(BenchModel *model, BenchSide sides[BENCH_SIDES]);

/* Append the description that `threepass pass` reads. */
void bench_describe(const BenchModel *model, const BenchSide *side, Text *out);

#endif
