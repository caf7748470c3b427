/* Draws a draw list into a picture in memory, for a window of SDL's or for a file.
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

enum { SDL_DRAW_SIDE_MAX = 8192 }; /* pixels of a picture */

struct SDL_Surface;
struct SDL_Window;

typedef struct SdlDraw SdlDraw;

/* Draw a picture for a window, which is borrowed and must outlive *out; or for a file (NULL). The
 * caller ends *out with sdl_draw_free. ERR_IO when a font is missing. */
MUST_USE bool sdl_draw_new(struct SDL_Window *window, SdlDraw **out, Err *err);
void sdl_draw_free(SdlDraw *draw);

/* Fit a canvas to a picture of so many pixels, 1 to SDL_DRAW_SIDE_MAX a side: 800 high and as wide
 * as they are, at least 1280; where they are narrower, 1280 wide and higher. Texts are measured for
 * it from now on; a list is to be drawn whole. */
void sdl_draw_fit(SdlDraw *draw, int width, int height, double *canvas_width,
                  double *canvas_height);

/* Pixels per canvas pixel. */
double sdl_draw_scale(const SdlDraw *draw);

/* The picture as it is, of 32 bits a pixel, XRGB; NULL before the first fit; valid until the
 * next. */
const struct SDL_Surface *sdl_draw_picture(const SdlDraw *draw);

/* The widths of texts as they are drawn; valid as long as `draw`. */
DrawMeasure sdl_draw_measure(SdlDraw *draw);

/* Draw the list, and show it in the window. */
void sdl_draw_list(SdlDraw *draw, const DrawList *list);

/* The same where `shown` was drawn last: only what differs is drawn and shown. False when nothing
 * differs. */
bool sdl_draw_next(SdlDraw *draw, const DrawList *list, const DrawList *shown);

/* Keep a picture as a PNG file. ERR_IO. */
MUST_USE bool sdl_draw_save(const SdlDraw *draw, const char *path, Err *err);

#endif
