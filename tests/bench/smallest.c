/* The smallest program that shows a line of text by SDL2 and SDL2_ttf: what `threepass` is measured
 * against from its start to its first picture. Same window, renderer and font. */
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
    SDL_Renderer *renderer = SDL_CreateRenderer(window, -1, SDL_RENDERER_SOFTWARE);
    TTF_Font *font = TTF_OpenFont(FONT, 24);
    if (renderer == NULL || font == NULL) return 1;
    SDL_Surface *line = TTF_RenderUTF8_Blended(font, "Who are you?", (SDL_Color){31, 29, 26, 255});
    SDL_Texture *texture = SDL_CreateTextureFromSurface(renderer, line);
    SDL_Rect to = {24, 24, line->w, line->h};
    (void)SDL_SetRenderDrawColor(renderer, 246, 242, 232, 255);
    (void)SDL_RenderClear(renderer);
    (void)SDL_RenderCopy(renderer, texture, NULL, &to);
    SDL_RenderPresent(renderer);
    for (SDL_Event event = {0}; event.type != SDL_QUIT;) {
        (void)SDL_WaitEvent(&event);
    }
    return 0;
}
