/* Chance, memory and the rules that hold for every call.
 *
 * All that a call is handed comes from here: blocks that are exactly as large as they must be, so
 * that valgrind and AddressSanitizer see whoever goes past their end. */
#ifndef CHANCE_H
#define CHANCE_H

#include <math.h>

#include "../check.h"

/* Steele, Lea & Flood's SplitMix64. */
static uint64_t chance;
/* How often something is wrong: once in so many times, or with 0 never. */
static size_t wrong;

static uint64_t bits(void) {
    uint64_t z = chance += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static size_t below(size_t n) {
    return (size_t)(bits() % n);
}

static int once_in(size_t n) {
    return below(n) == 0;
}

static int goes_wrong(void) {
    return wrong > 0 && once_in(wrong);
}

enum { MOST_BLOCKS = 4000 };

static void *blocks[MOST_BLOCKS];
static size_t block_count;

static void *block(size_t size) {
    void *made = malloc(size);
    if ((made == NULL && size > 0) || block_count == MOST_BLOCKS) {
        puts("out of memory");
        exit(1);
    }
    blocks[block_count++] = made;
    return made;
}

static void free_blocks(void) {
    while (block_count > 0) {
        free(blocks[--block_count]);
    }
}

/* What a call may write to, as it was before. */
typedef struct watched {
    const void *place;
    const void *before;
    size_t size;
} watched;

static watched watches[32];
static size_t watch_count;

static void *watch(void *place, size_t size) {
    void *before = block(size);
    if (size > 0) {
        memcpy(before, place, size);
    }
    watches[watch_count].place = place;
    watches[watch_count].before = before;
    watches[watch_count++].size = size;
    return place;
}

/* How many calls ended with each status. */
static size_t tally[100];

/* What holds after every call: a status that is one, and after a failure a text that says why, and
 * everything as it was. */
static int went_well(int32_t status) {
    CHECK(status >= 0 && status < 100 && status != TRUEBED_INTERNAL);
    CHECK(strcmp(truebed_status_text(status), truebed_status_text(5)) != 0);
    tally[status]++;
    if (status != TRUEBED_OK) {
        CHECK(strstr(truebed_last_error(), ": got ") != NULL && strlen(truebed_last_error()) < 50000);
        for (size_t at = 0; at < watch_count; at++) {
            CHECK(memcmp(watches[at].place, watches[at].before, watches[at].size) == 0);
        }
    }
    watch_count = 0;
    return status == TRUEBED_OK;
}

/* Room for an answer, or NULL. */
static void *out(size_t size) {
    if (goes_wrong()) {
        return NULL;
    }
    unsigned char *made = block(size);
    if (size > 0) {
        memset(made, 0xA5, size);
    }
    return watch(made, size);
}

static size_t struct_size(size_t right) {
    if (!goes_wrong()) {
        return right;
    }
    const size_t sizes[] = {0, 1, right - 8, right - 1, right + 1, right + 8, SIZE_MAX, (size_t)bits()};
    return sizes[below(8)];
}

/* Room for an answer that begins with its size. */
static void *out_struct(size_t size) {
    size_t *made = out(size);
    if (made != NULL) {
        *made = struct_size(size);
        watch_count--;
        watch(made, size);
    }
    return made;
}

/* A struct to fill in, all zero but for its size. */
static void *zeroed(size_t size) {
    size_t *made = block(size);
    memset(made, 0, size);
    *made = struct_size(size);
    return made;
}

/* How many elements an array has, which the pointer beside it is not asked about: so many that no
 * memory holds them, once in a while. */
static size_t counted(size_t count) {
    return goes_wrong() && once_in(3) ? SIZE_MAX / 4 + below(1000) * (SIZE_MAX / 4000) : count;
}

static void *or_null(void *pointer) {
    return goes_wrong() ? NULL : pointer;
}

static double wild(void) {
    const double numbers[] = {NAN, INFINITY, -INFINITY, -0.0, 5e-324, 1e308, -1e308, 1e-7, 1e9,
                              9.3e12, -9.3e12, 1e15, 0, -1};
    double any = 0;
    const uint64_t pattern = bits();
    memcpy(&any, &pattern, sizeof any);
    return once_in(4) ? any : numbers[below(sizeof numbers / sizeof *numbers)];
}

/* A whole number of steps from `least` on. */
static double steps(double least, double step, size_t most) {
    return goes_wrong() ? wild() : least + step * (double)below(most + 1);
}

static int32_t choice(size_t least, size_t most) {
    return goes_wrong() ? (int32_t)bits() : (int32_t)(least + below(most - least + 1));
}

/* An array of numbers. */
static double *numbers(size_t count, double least, double step, size_t most) {
    double *made = block(count * sizeof *made);
    for (size_t at = 0; at < count; at++) {
        made[at] = steps(least, step, most);
    }
    return or_null(made);
}

/* Indices, most of them below a number. */
static size_t *indices(size_t count, size_t most) {
    size_t *made = block(count * sizeof *made);
    for (size_t at = 0; at < count; at++) {
        made[at] = goes_wrong() ? (size_t)bits() >> below(64) : below(most + 1);
    }
    return or_null(made);
}

/* A text that the library made: read, and freed. */
static void read_text(truebed_text *text) {
    const size_t length = truebed_text_length(text);
    CHECK(length > 0 && strlen(truebed_text_data(text)) == length);
    truebed_text_free(text);
}

#endif
