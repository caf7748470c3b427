/* Plots: the trace, the map of the aperture, the turning dial. Data in, draw list out. */
#ifndef UI_PLOT_H
#define UI_PLOT_H

#include "ui/ui.h"

/* Append `pattern` with each "{0}", "{1}" ... replaced by its value. */
void plot_fill(Text *out, const char *pattern, const char *const values[], int count);

/* A chance in words that nobody takes for certainty: "17 in 100", "over 999 in 1 000". */
void plot_add_chance(const Ui *ui, double chance, Text *out);

/* The signal of one pass, with the limit as a band. */
typedef struct {
    const double *signal; /* in limits */
    size_t count;
    double from_mm, step_mm; /* of the belt: 0 is at the coils */
    double half_mm;          /* the axis goes from minus this to this */
    double top;              /* and up to this, in limits: plot_top */
} PlotTrace;
void plot_trace(Ui *ui, DrawRect box, const PlotTrace *trace);

/* The end of an axis that holds a largest value: 2, 5, 10, 20 ... */
double plot_top(double largest);

/* The aperture from the front, with the smallest sphere found at each point of a net over it. */
typedef struct {
    const double *mm; /* rows from the floor; infinite where none is found */
    int columns, rows;
    double width_mm, height_mm; /* of the aperture */
    double belt_mm;             /* z of the belt */
    DrawRect pack;              /* y and z of its least corner, its width and height, mm */
    DrawPoint from, to;         /* ends of the piece, y and z, mm */
    double px_per_mm;           /* the scale; 0: as large as fits */
    double step_mm;             /* between two contours; 0: as the map's own range wants */
} PlotMap;
/* The scale at which a map fills `box`, and the step between its contours: two maps that are
 * compared share the lesser scale and the greater step. */
double plot_map_scale(DrawRect box, const PlotMap *map);
double plot_map_step(const PlotMap *map);
/* Draw it to the left of `box`, and give what it takes. */
DrawRect plot_map(Ui *ui, DrawRect box, const PlotMap *map);

/* A length that is easily read, with its measure on a map of this scale, in `box`. */
void plot_scale_bar(Ui *ui, DrawRect box, double px_per_mm);

/* What a place of the map has, between the points of the net. */
double plot_map_at(const PlotMap *map, double across_mm, double up_mm);

/* A dial that turns a line: degrees counter-clockwise from the right, in steps of
 * PLOT_DIAL_STEP; half a turn is the same again. True when it was turned in this pass. */
enum { PLOT_DIAL_STEP = 15 };
bool plot_dial(Ui *ui, uint32_t id, DrawRect box, double *degrees);
/* The same, only to be looked at. */
void plot_dial_face(Ui *ui, DrawRect box, double degrees);

#endif
