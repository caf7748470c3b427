/* What the bench computes, and keeps while it does not change. */
#include "ui/bench.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detector/smallest.h"

#define PI 3.14159265358979323846

enum {
    SITES_KEPT = 8,  /* heads with a product and a map, at once */
    VIEWS_KEPT = 4,  /* sides, at once */
    TURNS = 256,     /* directions of the mean over all turns */
    TURN_STRIDE = 2, /* of the points of the travel for that mean: a peak is far wider */
    MAP_HALF_ACROSS = BENCH_MAP_ACROSS / 2,
    MAP_HALF_UP = BENCH_MAP_UP / 2,
};

/* A head that has learned a product, and its map for one metal. */
typedef struct {
    int head, product, metal;
    bool is_made;
    DetectHead detect;
    ProductBlock pack;
    DetectProgram program;
    DetectGrid travel;
    double map[BENCH_MAP_UP * BENCH_MAP_ACROSS];
    unsigned long used;
} Place;

/* A side with its fields: those stay when the piece is only turned or exchanged. */
typedef struct {
    bool is_made;
    BenchSide side;
    Place *place;
    Vec3 *transmit, *receive;
    BenchView view;
    unsigned long used;
} Slot;

struct BenchModel {
    const Work *work;
    const Site *site;
    const SiteFitted *fitted;
    MetalTable *metals;
    Place places[SITES_KEPT];
    Slot slots[VIEWS_KEPT];
    unsigned long clock; /* of uses: the least used gives way */
};

/* --- What there is --------------------------------------------------------------------------- */

/* The line on which a product goes through a head: one with its program before any other. */
static const SiteLine *line_of(const BenchModel *model, int head, int product)
{
    const SiteLine *any = NULL;
    for (int i = 0; i < model->site->line_count; i++) {
        const SiteLine *line = &model->site->lines[i];
        if (line->head != head) continue;
        if (product >= 0 && site_program(line, product) != NULL) return line;
        if (any == NULL && line->program_count > 0) any = line;
    }
    return any;
}

bool bench_has_head(const BenchModel *model, int head)
{
    return model->fitted[head].noise_v > 0.0 && line_of(model, head, -1) != NULL;
}

bool bench_has_product(const BenchModel *model, int head, int product)
{
    const SiteLine *line = line_of(model, head, product);
    if (site_program(line, product) != NULL) return true;
    ProductBlock block = site_block(model->site, line, product);
    const CoilHead *coils = &model->site->heads[head].head.coils;
    return block.width_m <= coils->aperture_width_m &&
           block.centre_up_m + block.height_m / 2.0 <= coils->aperture_height_m / 2.0;
}

static bool has_any_head(const BenchModel *model)
{
    for (int i = 0; i < model->site->head_count; i++) {
        if (bench_has_head(model, i)) return true;
    }
    return false;
}

static void clear_slot(Slot *slot)
{
    free(slot->transmit);
    free(slot->receive);
    free(slot->view.signal);
    *slot = (Slot){0};
}

BenchModel *bench_model_new(const Work *work)
{
    BenchModel *model = check_calloc(1, sizeof *model);
    const Text *metals = work_part(work, WORK_METALS);
    Err never = {0}; /* the work was read from these bytes */
    model->work = work;
    model->site = work_site(work);
    model->fitted = work_fitted(work);
    CHECK(metals_parse("metals", text_string(metals), metals->len, &model->metals, &never));
    if (!has_any_head(model)) {
        bench_model_free(model);
        return NULL;
    }
    return model;
}

void bench_model_free(BenchModel *model)
{
    if (model == NULL) return;
    for (int i = 0; i < SITES_KEPT; i++) {
        detect_program_clear(&model->places[i].program);
    }
    for (int i = 0; i < VIEWS_KEPT; i++) {
        clear_slot(&model->slots[i]);
    }
    metals_free(model->metals);
    free(model);
}

const MetalTable *bench_metals(const BenchModel *model)
{
    return model->metals;
}

ProductBlock bench_pack(const BenchModel *model, const BenchSide *side)
{
    double factor = model->fitted[side->head].variation_factor;
    ProductBlock pack =
        site_block(model->site, line_of(model, side->head, side->product), side->product);
    pack.amplitude_variation *= factor;
    pack.phase_variation_rad *= factor;
    return pack;
}

BenchSide bench_side(const BenchModel *model, int head, int product, const SitePiece *piece,
                     const BenchSide *lying)
{
    BenchSide side = *lying;
    side.head = head;
    side.product = product;
    side.is_wire = piece->is_wire;
    side.diameter_mm = (double)piece->diameter_um / 1e3;
    side.length_mm = (double)piece->length_um / 1e3;
    for (size_t i = 0; i < metals_count(model->metals); i++) {
        const Metal *metal = metals_at(model->metals, i);
        if (strcmp(metal->name, piece->metal->name) == 0) side.metal = (int)i;
    }
    return side;
}

static double clamp(double value, double low, double high)
{
    return fmin(fmax(value, low), high);
}

void bench_settle(const BenchModel *model, BenchSide *side)
{
    for (int i = 0; i < model->site->product_count; i++) {
        if (bench_has_product(model, side->head, side->product)) break;
        side->product = (side->product + 1) % model->site->product_count;
    }
    ProductBlock pack = bench_pack(model, side);
    double half_mm[] = {pack.length_m * 500.0, pack.width_m * 500.0};
    side->along_mm = clamp(side->along_mm, -half_mm[0], half_mm[0]);
    side->across_mm = clamp(side->across_mm, -half_mm[1], half_mm[1]);
    side->up_mm = clamp(side->up_mm, 0.0, pack.height_m * 1e3);
    side->diameter_mm = clamp(side->diameter_mm, BENCH_THICK_MM_MIN, BENCH_THICK_MM_MAX);
    side->length_mm = clamp(side->length_mm, 2.0 * side->diameter_mm, BENCH_LONG_MM_MAX);
    side->azimuth_deg -= 180.0 * floor(side->azimuth_deg / 180.0);
    side->elevation_deg -= 180.0 * ceil((side->elevation_deg - 90.0) / 180.0);
}

/* --- A head with a product ------------------------------------------------------------------- */

/* A quarter is computed, the rest is its mirror: the coils are symmetric across and up. */
static void fill_map(const BenchModel *model, Place *place)
{
    const CoilHead *coils = &place->detect.coils;
    TargetMetal metal = metals_at(model->metals, (size_t)place->metal)->figures;
    double wanted =
        detect_ratio_for(model->site->heads[place->head].found_probability, place->program.kappa);
    double *coupling = check_calloc(place->travel.count, sizeof *coupling);
    /* The signal of a sphere is symmetric along the travel too. */
    DetectGrid half = place->travel;
    half.count = half.count / 2 + 1;
    for (int row = 0; row <= MAP_HALF_UP; row++) {
        for (int column = 0; column <= MAP_HALF_ACROSS; column++) {
            double across = coils->aperture_width_m * 0.5 * (double)column / MAP_HALF_ACROSS;
            double up = coils->aperture_height_m * 0.5 * (double)row / MAP_HALF_UP;
            double largest = 0.0;
            double diameter_m = 0.0;
            smallest_coupling(coils, across, up, &half, coupling);
            for (size_t i = 0; i < half.count; i++) {
                largest = fmax(largest, fabs(coupling[i]));
            }
            SmallestPlace at = {.program = &place->program,
                                .frequency_hz = place->detect.frequency_hz,
                                .coupling = &largest,
                                .count = 1};
            bool is_found =
                smallest_sphere(&at, metal, wanted, coils->aperture_height_m, &diameter_m);
            double mm = is_found ? diameter_m * 1e3 : HUGE_VAL;
            int rows[] = {MAP_HALF_UP - row, MAP_HALF_UP + row};
            int columns[] = {MAP_HALF_ACROSS - column, MAP_HALF_ACROSS + column};
            for (int i = 0; i < 4; i++) {
                place->map[rows[i / 2] * BENCH_MAP_ACROSS + columns[i % 2]] = mm;
            }
        }
    }
    free(coupling);
}

/* A sphere's map is of its own metal, a wire's of the stainless that test pieces are made of. */
static int map_metal(const BenchModel *model, const BenchSide *side)
{
    if (!side->is_wire) return side->metal;
    for (size_t i = 0; i < metals_count(model->metals); i++) {
        if (metals_at(model->metals, i) == metals_find(model->metals, "stainless-316"))
            return (int)i;
    }
    return side->metal;
}

static bool is_in_use(const BenchModel *model, const Place *place)
{
    for (int i = 0; i < VIEWS_KEPT; i++) {
        if (model->slots[i].is_made && model->slots[i].place == place) return true;
    }
    return false;
}

static Place *place_of(BenchModel *model, const BenchSide *side)
{
    int metal = map_metal(model, side);
    Place *oldest = NULL;
    for (int i = 0; i < SITES_KEPT; i++) {
        Place *place = &model->places[i];
        if (place->is_made && place->head == side->head && place->product == side->product &&
            place->metal == metal) {
            place->used = ++model->clock;
            return place;
        }
        if (is_in_use(model, place)) continue;
        if (oldest == NULL || place->used < oldest->used) oldest = place;
    }
    CHECK(oldest != NULL); /* there are more places than slots */
    Err never = {0};       /* the fit has given the head a noise */
    detect_program_clear(&oldest->program);
    *oldest = (Place){.head = side->head, .product = side->product, .metal = metal};
    oldest->is_made = true;
    oldest->used = ++model->clock;
    oldest->detect = model->site->heads[side->head].head;
    oldest->detect.noise_v = model->fitted[side->head].noise_v;
    oldest->pack = bench_pack(model, side);
    oldest->travel = fit_travel(&oldest->detect.coils, oldest->pack.length_m);
    CHECK(detect_program_init(&oldest->program, &oldest->detect, &oldest->pack, &oldest->travel,
                              &never));
    fill_map(model, oldest);
    return oldest;
}

/* --- A side ---------------------------------------------------------------------------------- */

static Vec3 direction_of(const BenchSide *side)
{
    double azimuth = side->azimuth_deg * PI / 180.0;
    double elevation = side->elevation_deg * PI / 180.0;
    return (Vec3){cos(elevation) * cos(azimuth), cos(elevation) * sin(azimuth), sin(elevation)};
}

static TargetPiece piece_of(const BenchModel *model, const BenchSide *side)
{
    return (TargetPiece){.shape = side->is_wire ? TARGET_WIRE : TARGET_SPHERE,
                         .diameter_m = side->diameter_mm / 1e3,
                         .length_m = side->length_mm / 1e3,
                         .direction = direction_of(side),
                         .metal = metals_at(model->metals, (size_t)side->metal)->figures};
}

static double up_in_aperture_m(const BenchSide *side, const ProductBlock *pack)
{
    return pack->centre_up_m - pack->height_m / 2.0 + side->up_mm / 1e3;
}

/* The coils mirror each other before and behind x = 0: the transmitter's field keeps its part along
 * the travel and turns the others round, that of the receivers, wound in opposition, does the
 * reverse. So half of a travel that is symmetric is enough. */
static void fill_fields(Slot *slot)
{
    const DetectGrid *travel = &slot->place->travel;
    const CoilHead *coils = &slot->place->detect.coils;
    size_t count = travel->count;
    double up = up_in_aperture_m(&slot->side, &slot->place->pack);
    bool is_symmetric =
        fabs(travel->from_m + detect_place(travel, count - 1)) < 1e-9 * travel->step_m;
    slot->transmit = check_realloc(slot->transmit, count, sizeof *slot->transmit);
    slot->receive = check_realloc(slot->receive, count, sizeof *slot->receive);
    for (size_t i = 0; i < (is_symmetric ? (count + 1) / 2 : count); i++) {
        Vec3 at = {detect_place(travel, i), slot->side.across_mm / 1e3, up};
        Vec3 t = coil_transmit_field(coils, at);
        Vec3 r = coil_receive_field(coils, at);
        if (is_symmetric) {
            slot->transmit[count - 1 - i] = (Vec3){t.x, -t.y, -t.z};
            slot->receive[count - 1 - i] = (Vec3){-r.x, r.y, r.z};
        }
        slot->transmit[i] = t;
        slot->receive[i] = r;
    }
}

/* j w mu0 times a number. */
static double complex voltage(const Place *place, double complex couple)
{
    double wmu0 = 2.0 * PI * place->detect.frequency_hz * TARGET_MU0_H_PER_M;
    return target_complex(-wmu0 * cimag(couple), wmu0 * creal(couple));
}

/* The signal in limits, and from it the ratio and the chance, of the piece as it lies. */
static void fill_signal(const BenchModel *model, Slot *slot)
{
    const Place *place = slot->place;
    size_t count = place->travel.count;
    TargetPiece piece = piece_of(model, &slot->side);
    TargetTensor tensor = target_polarizability(&piece, place->detect.frequency_hz);
    BenchView *view = &slot->view;
    double *along = check_calloc(count, sizeof *along);
    double *across = check_calloc(count, sizeof *across);
    view->signal = check_realloc(view->signal, count, sizeof *view->signal);
    view->peak_v = 0.0;
    for (size_t i = 0; i < count; i++) {
        double complex signal =
            voltage(place, target_couple(&tensor, slot->receive[i], slot->transmit[i]));
        view->peak_v = fmax(view->peak_v, cabs(signal));
        detect_add_in_limits(&place->program, &signal, 1, &along[i], &across[i]);
    }
    DetectLook look;
    detect_look(along, across, &place->travel, (const double[2]){0.0, 0.0}, &look);
    view->ratio = look.ratio;
    view->chance = detect_found_probability(look.ratio, place->program.kappa);
    view->peak[0] = along[look.at];
    view->peak[1] = across[look.at];
    double per = look.ratio > 0.0 ? 1.0 / look.ratio : 0.0;
    for (size_t i = 0; i < count; i++) {
        view->signal[i] = (along[i] * view->peak[0] + across[i] * view->peak[1]) * per;
    }
    free(along);
    free(across);
}

/* A wire's tensor is that across it times one, plus the rest times d d. So its signal in limits
 * at a point is one vector times g = r.t plus another times p = (r.d)(t.d); squared, this: */
typedef struct {
    double gg, gp, pp;
} Square;

static Square square_of(const BenchModel *model, const Slot *slot)
{
    const Place *place = slot->place;
    TargetPiece piece = piece_of(model, &slot->side);
    piece.direction = (Vec3){1, 0, 0};
    TargetTensor tensor = target_polarizability(&piece, place->detect.frequency_hz);
    double complex across = voltage(place, tensor.yy);
    double complex rest = voltage(place, tensor.xx - tensor.yy);
    double a[2] = {0};
    double b[2] = {0};
    detect_add_in_limits(&place->program, &across, 1, &a[0], &a[1]);
    detect_add_in_limits(&place->program, &rest, 1, &b[0], &b[1]);
    return (Square){a[0] * a[0] + a[1] * a[1], 2.0 * (a[0] * b[0] + a[1] * b[1]),
                    b[0] * b[0] + b[1] * b[1]};
}

/* The mean of the chance over directions spread evenly on the half sphere by the golden angle; the
 * other half answers alike. */
static double mean_over_turns(const BenchModel *model, const Slot *slot)
{
    const Place *place = slot->place;
    Square square = square_of(model, slot);
    /* No direction makes a point's square larger than this times |r|^2 |t|^2: most points are soon
     * seen not to be the peak. */
    double most = square.gg + fabs(square.gp) + square.pp;
    size_t count = (place->travel.count + TURN_STRIDE - 1) / TURN_STRIDE;
    double *g = check_calloc(count, sizeof *g);
    double *bound = check_calloc(count, sizeof *bound);
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        Vec3 r = slot->receive[i * TURN_STRIDE];
        Vec3 t = slot->transmit[i * TURN_STRIDE];
        g[i] = coil_dot(r, t);
        bound[i] = most * coil_dot(r, r) * coil_dot(t, t);
    }
    for (int turn = 0; turn < TURNS; turn++) {
        double z = ((double)turn + 0.5) / TURNS;
        double azimuth = (double)turn * PI * (3.0 - sqrt(5.0));
        double flat = sqrt(1.0 - z * z);
        Vec3 d = {flat * cos(azimuth), flat * sin(azimuth), z};
        double largest = 0.0;
        for (size_t n = 0; n < count; n++) {
            size_t i = n % 2 == 0 ? count / 2 + n / 2 : count / 2 - n / 2 - 1; /* middle first */
            if (i >= count || bound[i] <= largest) continue;
            double p = coil_dot(slot->receive[i * TURN_STRIDE], d) *
                       coil_dot(slot->transmit[i * TURN_STRIDE], d);
            largest =
                fmax(largest, square.gg * g[i] * g[i] + square.gp * g[i] * p + square.pp * p * p);
        }
        sum += detect_found_probability(sqrt(largest), place->program.kappa);
    }
    free(g);
    free(bound);
    return sum / TURNS;
}

static bool same_path(const BenchSide *a, const BenchSide *b)
{
    return a->across_mm == b->across_mm && a->up_mm == b->up_mm;
}

static bool same_piece(const BenchSide *a, const BenchSide *b)
{
    return a->metal == b->metal && a->is_wire == b->is_wire && a->diameter_mm == b->diameter_mm &&
           a->length_mm == b->length_mm;
}

static bool same_turn(const BenchSide *a, const BenchSide *b)
{
    return a->azimuth_deg == b->azimuth_deg && a->elevation_deg == b->elevation_deg;
}

/* The slot of this very side (along the travel it makes no difference), else the least used. */
static Slot *slot_of(BenchModel *model, const BenchSide *side)
{
    Slot *oldest = &model->slots[0];
    for (int i = 0; i < VIEWS_KEPT; i++) {
        Slot *slot = &model->slots[i];
        const BenchSide *its = &slot->side;
        if (slot->is_made && its->head == side->head && its->product == side->product &&
            same_path(its, side) && same_piece(its, side) && same_turn(its, side)) {
            return slot;
        }
        if (slot->used < oldest->used) oldest = slot;
    }
    return oldest;
}

const BenchView *bench_view(BenchModel *model, const BenchSide *side)
{
    Slot *slot = slot_of(model, side);
    BenchSide before = slot->side;
    bool was_made = slot->is_made;
    slot->is_made = false; /* its place may give way */
    slot->place = place_of(model, side);
    slot->side = *side;
    slot->is_made = true;
    slot->used = ++model->clock;
    bool same_fields = was_made && before.head == side->head && before.product == side->product &&
                       same_path(&before, side);
    bool same_all = same_fields && same_piece(&before, side);
    BenchView *view = &slot->view;
    if (!same_fields) fill_fields(slot);
    if (!same_all || !same_turn(&before, side)) fill_signal(model, slot);
    if (!side->is_wire)
        view->chance_all_turns = view->chance;
    else if (!same_all)
        view->chance_all_turns = mean_over_turns(model, slot);
    view->head = model->site->heads[side->head];
    view->head.head.noise_v = slot->place->detect.noise_v;
    view->pack = slot->place->pack;
    view->travel = slot->place->travel;
    view->kappa = slot->place->program.kappa;
    view->up_in_aperture_mm = up_in_aperture_m(side, &view->pack) * 1e3;
    view->map = slot->place->map;
    view->map_metal = slot->place->metal;
    return view;
}

/* --- First set-ups and the puzzle ------------------------------------------------------------ */

static double aperture_area(const BenchModel *model, int head)
{
    const CoilHead *coils = &model->site->heads[head].head.coils;
    return coils->aperture_width_m * coils->aperture_height_m;
}

static void choose_head(const BenchModel *model, bool is_largest, BenchSide *side)
{
    const Site *site = model->site;
    int best = -1;
    for (int i = 0; i < site->head_count; i++) {
        if (!bench_has_head(model, i)) continue;
        bool larger = best >= 0 && aperture_area(model, i) > aperture_area(model, best);
        bool smaller = best >= 0 && aperture_area(model, i) < aperture_area(model, best);
        if (best < 0 || (is_largest ? larger : smaller)) best = i;
    }
    side->head = best;
    best = -1;
    for (int i = 0; i < site->product_count; i++) {
        if (site_program(line_of(model, side->head, i), i) == NULL) continue;
        if (best < 0 || site->products[i].block.conductivity_s_per_m >
                            site->products[best].block.conductivity_s_per_m) {
            best = i;
        }
    }
    side->product = best < 0 ? 0 : best;
}

static void turn_side(BenchSide *side, int turn)
{
    side->azimuth_deg = turn == 1 ? 90.0 : 0.0;
    side->elevation_deg = turn == 2 ? 90.0 : 0.0;
}

/* Wires to look through: thickness and length, the most likely first. */
static const double wires_mm[][2] = {
    {0.3, 12}, {0.3, 10}, {0.3, 15}, {0.3, 8}, {0.4, 8},  {0.4, 10}, {0.4, 12}, {0.2, 8},
    {0.2, 12}, {0.2, 20}, {0.3, 20}, {0.5, 8}, {0.5, 12}, {0.5, 20}, {0.3, 30}, {0.5, 30},
    {0.8, 10}, {0.8, 20}, {0.2, 5},  {0.3, 5}, {0.4, 5},  {0.5, 5},  {0.8, 5},  {1.0, 20}};

typedef bool Wanted(const double hard[3], const double easy[3]);

/* Turned crossways it is missed on one side and found on the other. */
static bool teaches(const double hard[3], const double easy[3])
{
    return hard[1] < 0.25 && easy[1] > 0.99;
}

static bool puzzles(const double hard[3], const double easy[3])
{
    double least = fmin(hard[0], fmin(hard[1], hard[2]));
    double most = fmax(hard[0], fmax(hard[1], hard[2]));
    return least <= BENCH_HIDDEN && most >= 0.5 &&
           fmax(easy[0], fmax(easy[1], easy[2])) >= BENCH_FOUND;
}

/* The chances of a side's piece turned lengthways, crossways, vertical; `slot` has the side's
 * fields. */
static void try_turns(const BenchModel *model, Slot *slot, double chances[3])
{
    for (int turn = 0; turn < 3; turn++) {
        turn_side(&slot->side, turn);
        fill_signal(model, slot);
        chances[turn] = slot->view.chance;
    }
}

static bool choose_wire(BenchModel *model, BenchSide sides[BENCH_SIDES], Wanted *wanted)
{
    bool is_there = false;
    Slot slots[BENCH_SIDES] = {0};
    for (int s = 0; s < BENCH_SIDES; s++) {
        slots[s].side = sides[s];
        slots[s].side.is_wire = true;
        slots[s].place = place_of(model, &slots[s].side);
        fill_fields(&slots[s]);
    }
    for (size_t i = 0; !is_there && i < sizeof wires_mm / sizeof wires_mm[0]; i++) {
        double chances[BENCH_SIDES][3];
        for (int s = 0; s < BENCH_SIDES; s++) {
            slots[s].side.diameter_mm = wires_mm[i][0];
            slots[s].side.length_mm = wires_mm[i][1];
            try_turns(model, &slots[s], chances[s]);
        }
        is_there = wanted(chances[0], chances[1]);
    }
    for (int s = 0; s < BENCH_SIDES; s++) {
        if (is_there) sides[s] = slots[s].side;
        clear_slot(&slots[s]);
    }
    return is_there;
}

/* The piece in the middle of its pack. */
static void centre(const BenchModel *model, BenchSide *side)
{
    side->along_mm = 0.0;
    side->across_mm = 0.0;
    side->up_mm = bench_pack(model, side).height_m * 500.0;
}

void bench_first(BenchModel *model, BenchSide sides[BENCH_SIDES])
{
    int metal = 0;
    for (size_t i = 0; i < metals_count(model->metals); i++) {
        if (metals_at(model->metals, i) == metals_find(model->metals, "carbon-steel"))
            metal = (int)i;
    }
    for (int s = 0; s < BENCH_SIDES; s++) {
        sides[s] = (BenchSide){.metal = metal};
        choose_head(model, s == 0, &sides[s]);
        centre(model, &sides[s]);
    }
    if (!choose_wire(model, sides, teaches)) {
        for (int s = 0; s < BENCH_SIDES; s++) {
            sides[s].diameter_mm = wires_mm[0][0];
            sides[s].length_mm = wires_mm[0][1];
        }
    }
    turn_side(&sides[0], 1);
    turn_side(&sides[1], 1);
}

/* The smallest head that takes the side's product. */
static void choose_smallest_for(const BenchModel *model, BenchSide *side)
{
    int best = side->head;
    for (int i = 0; i < model->site->head_count; i++) {
        if (!bench_has_head(model, i) || !bench_has_product(model, i, side->product)) continue;
        if (aperture_area(model, i) < aperture_area(model, best)) best = i;
    }
    side->head = best;
}

bool bench_puzzle(BenchModel *model, BenchSide sides[BENCH_SIDES])
{
    BenchSide tried[BENCH_SIDES] = {sides[0], sides[0]};
    choose_smallest_for(model, &tried[1]);
    centre(model, &tried[0]);
    centre(model, &tried[1]);
    if (!choose_wire(model, tried, puzzles)) return false;
    /* Begin with the turn that the head sees best: what to change is the puzzle. */
    int best = 0;
    double most = -1.0;
    for (int turn = 0; turn < 3; turn++) {
        turn_side(&tried[0], turn);
        double ratio = bench_view(model, &tried[0])->ratio;
        if (ratio > most) best = turn;
        most = fmax(most, ratio);
    }
    turn_side(&tried[0], best);
    sides[0] = tried[0];
    sides[1] = tried[0];
    return true;
}

bool bench_same(const BenchSide *a, const BenchSide *b)
{
    return a->head == b->head && a->product == b->product && a->along_mm == b->along_mm &&
           same_path(a, b) && same_piece(a, b) && same_turn(a, b);
}

/* --- As a description ------------------------------------------------------------------------ */

typedef struct {
    const char *key;
    double value;
} Figure;

/* A turn and a mirror leave a minus before a zero, which says nothing. */
static void add_number(Text *out, double value)
{
    json_add_number(out, value == 0.0 ? 0.0 : value);
}

static void add_figures(Text *out, const Figure figures[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        text_addf(out, "    \"%s\": ", figures[i].key);
        add_number(out, figures[i].value);
        text_add(out, i + 1 < count ? ",\n" : "\n");
    }
}

static void add_target(const BenchModel *model, const BenchSide *side, Text *out)
{
    TargetPiece piece = piece_of(model, side);
    text_addf(out, "  \"target\": {\n    \"shape\": \"%s\",\n    \"diameter_mm\": ",
              side->is_wire ? "wire" : "sphere");
    add_number(out, side->diameter_mm);
    if (side->is_wire) {
        const double parts[] = {piece.direction.x, piece.direction.y, piece.direction.z};
        text_add(out, ",\n    \"length_mm\": ");
        add_number(out, side->length_mm);
        for (int i = 0; i < 3; i++) {
            text_add(out, i == 0 ? ",\n    \"direction\": [" : ", ");
            add_number(out, parts[i]);
        }
        text_add(out, "]");
    }
    text_add(out, ",\n    \"metal\": ");
    text_add_quoted(out, metals_at(model->metals, (size_t)side->metal)->name);
    text_add(out, "\n  },\n");
}

static void add_product(const ProductBlock *pack, Text *out)
{
    const Figure figures[] = {{"length_mm", pack->length_m * 1e3},
                              {"width_mm", pack->width_m * 1e3},
                              {"height_mm", pack->height_m * 1e3},
                              {"conductivity_s_per_m", pack->conductivity_s_per_m},
                              {"relative_permeability", pack->relative_permeability},
                              {"centre_up_mm", pack->centre_up_m * 1e3},
                              {"amplitude_variation", pack->amplitude_variation},
                              {"phase_variation_rad", pack->phase_variation_rad}};
    text_addf(out, "  \"product\": {\n    \"columns\": [%d, %d],\n", pack->columns_across,
              pack->columns_up);
    add_figures(out, figures, sizeof figures / sizeof figures[0]);
    text_add(out, "  },\n");
}

void bench_describe(const BenchModel *model, const BenchSide *side, Text *out)
{
    const DetectHead *head = &model->site->heads[side->head].head;
    ProductBlock pack = bench_pack(model, side);
    DetectGrid travel = fit_travel(&head->coils, pack.length_m);
    const Figure figures[] = {{"aperture_width_mm", head->coils.aperture_width_m * 1e3},
                              {"aperture_height_mm", head->coils.aperture_height_m * 1e3},
                              {"coil_clearance_mm", head->coils.clearance_m * 1e3},
                              {"receiver_offset_mm", head->coils.receiver_offset_m * 1e3},
                              {"frequency_khz", head->frequency_hz / 1e3},
                              {"noise_nv", model->fitted[side->head].noise_v * 1e9},
                              {"false_reject_rate", head->false_reject_rate}};
    const Figure place[] = {{"across", side->across_mm},
                            {"up", up_in_aperture_m(side, &pack) * 1e3}};
    const Figure steps[] = {
        {"from_mm", travel.from_m * 1e3},
        {"to_mm", (travel.from_m + (double)(travel.count - 1) * travel.step_m) * 1e3},
        {"step_mm", travel.step_m * 1e3}};
    text_add(out, "{\n  \"head\": {\n");
    add_figures(out, figures, sizeof figures / sizeof figures[0]);
    text_add(out, "  },\n");
    add_product(&pack, out);
    add_target(model, side, out);
    text_add(out, "  \"position_mm\": {\n");
    add_figures(out, place, 2);
    text_add(out, "  },\n  \"travel\": {\n");
    add_figures(out, steps, 3);
    text_add(out, "  }\n}\n");
}
