/* From the start of a program to its first picture, seen from outside: the middle of the screen,
 * black before, gets another colour.
 *
 *   bench_first PROGRAM OTHER STORE
 *
 * PROGRAM is threepass, OTHER the smallest program with a window; they take turns. */
#define _POSIX_C_SOURCE 200809L

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <X11/Xlib.h>
#include <X11/Xutil.h>

enum { ROUNDS = 21, LIMIT_MS = 20000 };

static double now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

static unsigned long middle_of(Display *display)
{
    int screen = DefaultScreen(display);
    XImage *image =
        XGetImage(display, DefaultRootWindow(display), DisplayWidth(display, screen) / 2,
                  DisplayHeight(display, screen) / 2, 1, 1, AllPlanes, ZPixmap);
    if (image == NULL) return 0;
    unsigned long pixel = XGetPixel(image, 0, 0) & 0xFFFFFFUL;
    (void)XDestroyImage(image);
    return pixel;
}

/* Wait until the middle is black, or no longer. */
static void wait_for(Display *display, int is_black)
{
    double begin = now_ms();
    while ((middle_of(display) == 0) != is_black) {
        struct timespec pause = {0, 200000};
        (void)nanosleep(&pause, NULL);
        if (now_ms() - begin < LIMIT_MS) continue;
        (void)fputs("bench_first: nothing is shown\n", stderr);
        exit(2);
    }
}

static double first_ms(Display *display, char *const words[])
{
    wait_for(display, 1);
    double begin = now_ms();
    pid_t child = fork();
    if (child == 0) {
        (void)execv(words[0], words);
        _exit(127);
    }
    wait_for(display, 0);
    double took = now_ms() - begin;
    (void)kill(child, SIGKILL);
    (void)waitpid(child, NULL, 0);
    return took;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

int main(int argc, char **argv)
{
    static double times[ROUNDS];
    static double others[ROUNDS];
    if (argc != 4) {
        (void)fputs("usage: bench_first PROGRAM OTHER STORE\n", stderr);
        return 2;
    }
    static char store[] = "--store";
    static char size[] = "--size=1280x800";
    char *const program[] = {argv[1], store, argv[3], size, NULL};
    char *const other[] = {argv[2], NULL};
    Display *display = XOpenDisplay(NULL);
    if (display == NULL) {
        (void)fputs("bench_first: no display\n", stderr);
        return 2;
    }
    (void)first_ms(display, program); /* the store is made */
    for (int i = 0; i < ROUNDS; i++) {
        times[i] = first_ms(display, program);
        others[i] = first_ms(display, other);
    }
    qsort(times, ROUNDS, sizeof *times, by_size);
    qsort(others, ROUNDS, sizeof *others, by_size);
    double took = times[ROUNDS / 2];
    double smallest = others[ROUNDS / 2];
    (void)printf("first picture, medians of %d starts: threepass %.0f ms, smallest %.0f ms, "
                 "ratio %.2f\n",
                 ROUNDS, took, smallest, took / smallest);
    (void)XCloseDisplay(display);
    return 0;
}
