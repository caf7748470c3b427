/* How much of each pixel a shape covers: outlines in, one byte a pixel out.
 *
 * Lengths are pixels of the mask, y down. The coverage is exact for one outline; where outlines
 * that run the same way round lie on each other it is their sum, at most whole. */
#ifndef UI_MASK_H
#define UI_MASK_H

#include "ui/draw.h"

/* All zeros: empty. The owner ends it with mask_free. */
typedef struct {
    int width, height;
    float *sums; /* of each row, one more than wide: how the coverage changes at each pixel */
    size_t capacity;
} Mask;

/* Begin anew, keeping the room; both sizes are at least 1. */
void mask_begin(Mask *mask, int width, int height);
void mask_free(Mask *mask);

/* Add the inside of a closed outline of at least three points. One that runs the other way round
 * than those before it takes away instead. */
void mask_add_outline(Mask *mask, const DrawPoint *points, size_t count);

/* Add a circle; `is_hole` takes it away from a larger one. */
void mask_add_circle(Mask *mask, DrawPoint centre, double radius, bool is_hole);

/* Add a line `px` wide through at least two points, with mitred corners and flat ends. */
void mask_add_stroke(Mask *mask, const DrawPoint *points, size_t count, bool is_closed, double px);

/* The coverage of pixel (x, y), 0 to 255, row after row, into `out` of width * height bytes. */
void mask_cover(const Mask *mask, uint8_t *out);

#endif
