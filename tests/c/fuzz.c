/* Every function with whatever there may be: pointers that are valid or NULL, sizes, contents.
 *
 *     fuzz < SEEDS                 one round for each seed, and then the tally of statuses
 *     fuzz FIRST SECONDS           a round for each seed from FIRST on, for so long
 *
 * A round depends on its seed alone, but for what a clock or the other threads of a batch decide. */
#include <signal.h>
#include <time.h>

#include "fuzz/plans.h"
#include "fuzz/bed.h"
#include "fuzz/estimates.h"
#include "fuzz/site.h"
#include "fuzz/streams.h"
#include "fuzz/surveys.h"
#include "fuzz/texts.h"

static uint64_t seed;
static int done;

static void say_seed(void) {
    printf("seed %llu\n", (unsigned long long)seed);
    fflush(stdout);
}

/* What a check that does not hold exits through. */
static void on_exit_early(void) {
    if (!done) {
        say_seed();
    }
}

static void on_signal(int number) {
    say_seed();
    signal(number, SIG_DFL);
    raise(number);
}

static void one_round(void) {
    static void (*const rounds[])(void) = {planes, floors, surfaces, verdicts, risks, plans, lists,
                                           shortfalls, surveys, union_jacks, lengths, jobs, words};
    chance = seed;
    wrong = once_in(3) ? 0 : (size_t)5 << below(6);
    for (size_t left = 4; left > 0; left--) {
        rounds[below(sizeof rounds / sizeof *rounds)]();
        watch_count = 0;
        free_blocks();
    }
    /* After all others, so that a seed means there what it always did. */
    if (once_in(4)) {
        site();
        watch_count = 0;
        free_blocks();
    }
    if (once_in(8)) {
        pages();
        watch_count = 0;
        free_blocks();
    }
    if (once_in(8)) {
        outcomes();
        watch_count = 0;
        free_blocks();
    }
    if (once_in(8)) {
        bed();
        watch_count = 0;
        free_blocks();
    }
    if (once_in(3)) {
        streams();
        watch_count = 0;
        free_blocks();
    }
    if (once_in(8)) {
        estimates();
        watch_count = 0;
        free_blocks();
    }
}

static int for_seconds(double seconds) {
    const time_t start = time(NULL);
    const uint64_t first = seed;
    time_t now = start;
    for (; difftime(now, start) < seconds; seed++) {
        one_round();
        const time_t then = now;
        now = time(NULL);
        if (difftime(now, then) > 2) {
            printf("slow: ");
            say_seed();
        }
    }
    size_t calls = 0;
    for (size_t status = 0; status < sizeof tally / sizeof *tally; status++) {
        calls += tally[status];
    }
    printf("%llu rounds, %zu calls\n", (unsigned long long)(seed - first), calls);
    done = 1;
    return 0;
}

int main(int count, char **arguments) {
    atexit(on_exit_early);
    const int fatal[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT};
    for (size_t at = 0; at < sizeof fatal / sizeof *fatal; at++) {
        signal(fatal[at], on_signal);
    }
    if (count == 3) {
        seed = strtoull(arguments[1], NULL, 10);
        return for_seconds(strtod(arguments[2], NULL));
    }
    char line[100];
    while (fgets(line, sizeof line, stdin) != NULL) {
        seed = strtoull(line, NULL, 10);
        if (line[0] != '#') {
            one_round();
        }
    }
    for (size_t status = 0; status < sizeof tally / sizeof *tally; status++) {
        if (tally[status] > 0) {
            printf("%zu %zu\n", status, tally[status]);
        }
    }
    done = 1;
    return 0;
}
