/* What the C tests share. They write to standard output only: anything on standard error is the
 * library's, and a fault. */
#ifndef CHECK_H
#define CHECK_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "truebed.h"

#define CHECK(condition) check((condition) != 0, #condition, __FILE__, __LINE__)

static inline void check(int holds, const char *condition, const char *file, int line) {
    if (!holds) {
        printf("%s:%d: does not hold: %s\n  last error: %s\n", file, line, condition,
               truebed_last_error());
        exit(1);
    }
}

/* The call fails with this status, and a line of the last error begins with this field. */
#define REFUSED(call, status, field) refused((call), (status), (field), __FILE__, __LINE__)

static inline void refused(int32_t got, int32_t expected, const char *field, const char *file,
                           int line) {
    const char *text = truebed_last_error();
    const size_t length = strlen(field);
    int named = 0;
    for (const char *at = text; at != NULL && !named; at = strchr(at, '\n')) {
        at += *at == '\n';
        named = strncmp(at, field, length) == 0 && strncmp(at + length, ": got ", 6) == 0;
    }
    if (got != expected || !named || strlen(text) > 20000) {
        printf("%s:%d: got status %d, expected %d with a line on %s\n  last error: %.2000s\n",
               file, line, (int)got, (int)expected, field, text);
        exit(1);
    }
}

#endif
