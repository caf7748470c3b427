/* The smallest program that shows a line of text by SDL2 and SDL2_ttf: what `threepass` is measured
 * against from its start to its first picture. Same window and font, and the same way to the
 * screen. */
#include <stdio.h>

#include <SDL2/SDL.h>
#include <SDL2/SDL_ttf.h>

#define FONT "/usr/share/fonts/truetype/noto/NotoSans-Regular.ttf"

int main(void)
{
    (void)SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0"); /* as threepass does */
    if (SDL_Init(SDL_INIT_VIDEO) != 0 || TTF_Init() != 0) return 1;
    SDL_Window *window =
        SDL_CreateWindow("smallest", SDL_WINDOWPOS_CENTERED, SDL_WINDOWPOS_CENTERED, 1280, 800, 0);
    SDL_Surface *screen = window == NULL ? NULL : SDL_GetWindowSurface(window);
    TTF_Font *font = TTF_OpenFont(FONT, 24);
    if (screen == NULL || font == NULL) return 1;
    SDL_Surface *line = TTF_RenderUTF8_Blended(font, "Who are you?", (SDL_Color){31, 29, 26, 255});
    SDL_Rect to = {24, 24, 0, 0};
    (void)SDL_FillRect(screen, NULL, SDL_MapRGB(screen->format, 246, 242, 232));
    (void)SDL_BlitSurface(line, NULL, screen, &to);
    (void)SDL_UpdateWindowSurface(window);
    for (SDL_Event event = {0}; event.type != SDL_QUIT;) {
        (void)SDL_WaitEvent(&event);
    }
    return 0;
}
