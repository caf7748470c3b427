/* The coils of a tunnel metal detector and the magnetic field that they make.
 *
 * Axes, for the whole program: the origin is the centre of the aperture, x runs along the belt's
 * travel ("lengthways"), y across the belt ("crossways"), z up ("vertical"). The aperture is its
 * width (y) by its height (z). Time goes as e^{+jwt}. Units are SI.
 */
#ifndef DETECTOR_COIL_H
#define DETECTOR_COIL_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double x, y, z;
} Vec3;

/* Three coaxial rectangular loops, each (width + 2 clearance) by (height + 2 clearance): a
 * transmitter in the plane x = 0 and two receivers at x = -receiver_offset and +receiver_offset,
 * wound in opposition. */
typedef struct {
    double aperture_width_m;  /* y, positive */
    double aperture_height_m; /* z, positive */
    double clearance_m;       /* from the aperture's wall to the wire, positive */
    double receiver_offset_m; /* positive */
} CoilHead;

/* a.x b.x + a.y b.y + a.z b.z. */
static inline double coil_dot(Vec3 a, Vec3 b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

/* Field at `point` of one ampere in the straight wire `from` -> `to`, in 1/m (A/m per ampere). Biot
 * and Savart in closed form; full precision beside the wire too. A point on the wire gets zero: the
 * mean over all sides, as the field itself has no value there. */
Vec3 coil_segment_field(Vec3 from, Vec3 to, Vec3 point);

/* Field in 1/m per ampere-turn of a rectangular loop width (y) by height (z) in the plane x =
 * at_x_m, centred on the x axis; the current runs from y to z, so that h_x > 0 at the centre. */
Vec3 coil_loop_field(double width_m, double height_m, double at_x_m, Vec3 point);

/* Field of the transmitter per ampere-turn, 1/m. */
Vec3 coil_transmit_field(const CoilHead *head, Vec3 point);

/* Field that the receivers would make, fed with one ampere-turn: loop(-offset) - loop(+offset),
 * 1/m. By reciprocity this is their sensitivity to a moment at the point. */
Vec3 coil_receive_field(const CoilHead *head, Vec3 point);

/* Both fields at one place. */
typedef struct {
    Vec3 receive, transmit; /* 1/m */
} CoilFields;

/* Both fields at the points (x_m[i], across_m, up_m), i = 0 .. count - 1, into fields[count]: the
 * same bits as coil_receive_field and coil_transmit_field, in a fraction of the time. */
void coil_fields(const CoilHead *head, double across_m, double up_m, const double *x_m,
                 size_t count, CoilFields *fields);

/* The same at x = from_x_m + i step_m, step_m positive. Where the receivers are whole steps off,
 * one loop's field at each point serves all three loops; apart from a single point's by
 * rounding. */
void coil_fields_along(const CoilHead *head, double across_m, double up_m, double from_x_m,
                       double step_m, size_t count, CoilFields *fields);

#define COIL_STRIDES_MAX 96

/* Strides along x in which no peak of anything made of both fields is missed, within the loops'
 * outline: a quarter of the distance to the nearest wire, on whose scale the fields change, and a
 * whole part of the receivers' offset unless that is far less, so that coil_fields_along shares
 * its loops. Into *step_m,
 * and how many lead from x = 0 to `beyond` times that distance past a receiver into *count. False,
 * and nothing touched, outside the outline, or where these are more than COIL_STRIDES_MAX. */
bool coil_strides(const CoilHead *head, double across_m, double up_m, double beyond, double *step_m,
                  size_t *count);

#endif
