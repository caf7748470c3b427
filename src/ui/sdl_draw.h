/* Draws a draw list by SDL: into a window, or into a picture for a file.
 *
 * Straight edges stand on whole pixels; all else is a mask of coverage (mask.h), and a line of text
 * is one from SDL2_ttf, rendered at the size it has on the screen. Masks are kept, within bounds,
 * so that what stands still costs nothing. A window and a picture of the same size have the same
 * pixels.
 */
#ifndef UI_SDL_DRAW_H
#define UI_SDL_DRAW_H

#include "base/err.h"
#include "ui/draw.h"

struct SDL_Renderer;

typedef struct SdlDraw SdlDraw;

/* Draw into a window by its renderer, which is borrowed and must outlive *out; or into a picture
 * of its own, 1 to 8192 pixels a side. The caller ends *out with sdl_draw_free. ERR_IO when a
 * font is missing. */
MUST_USE bool sdl_draw_new(struct SDL_Renderer *renderer, SdlDraw **out, Err *err);
MUST_USE bool sdl_draw_new_picture(int width, int height, SdlDraw **out, Err *err);
void sdl_draw_free(SdlDraw *draw);

/* Fit a canvas to so many pixels: 800 high and as wide as they are, at least 1280; where they are
 * narrower, 1280 wide and higher. Texts are measured for it from now on. */
void sdl_draw_fit(SdlDraw *draw, int width, int height, double *canvas_width,
                  double *canvas_height);

/* Window pixels per canvas pixel. */
double sdl_draw_scale(const SdlDraw *draw);

/* The widths of texts as they are drawn; valid as long as `draw`. */
DrawMeasure sdl_draw_measure(SdlDraw *draw);

/* Draw the list; a window shows it when it is presented. */
void sdl_draw_list(SdlDraw *draw, const DrawList *list);

/* The same where `shown`, drawn last, is still there: only what differs is drawn, if the renderer
 * keeps its picture (SDL's software renderer does, a graphics card need not). False when nothing
 * differs, and nothing is to be presented. */
bool sdl_draw_next(SdlDraw *draw, const DrawList *list, const DrawList *shown);

/* Keep a picture as a PNG file. ERR_IO. */
MUST_USE bool sdl_draw_save(const SdlDraw *draw, const char *path, Err *err);

#endif
