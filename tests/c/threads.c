/* Each thread has its own last error, and handles are read by all. */
#include <pthread.h>

#include "check.h"

enum { THREADS = 4, TIMES = 200 };

static truebed_plan *shared;

static void *work(void *place) {
    const int number = *(const int *)place;
    char bad[20], named[40];
    snprintf(bad, sizeof bad, "%d", number);
    snprintf(named, sizeof named, "length: got \"%d\"", number);
    CHECK(strcmp(truebed_last_error(), "") == 0);
    for (int time = 0; time < TIMES; time++) {
        double mm = 0, top = 0;
        size_t count = 0;
        CHECK(truebed_length_parse_mm(bad, &mm) == TRUEBED_BAD_LENGTH);
        CHECK(truebed_plan_tops_mm(shared, &top, 1, &count) == TRUEBED_OK);
        CHECK(count == 1 && top == -2.5);
        CHECK(strncmp(truebed_last_error(), named, strlen(named)) == 0);
    }
    return NULL;
}

int main(void) {
    const truebed_support support = {0, 0, -2.5};
    const truebed_shim shim = {.thickness_mm = 1, .count = 1};
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    truebed_problem problem = {0};
    problem.struct_size = sizeof problem;
    problem.supports = &support;
    problem.support_count = 1;
    problem.stock = &shim;
    problem.stock_count = 1;
    problem.limits = &limits;
    CHECK(truebed_plan_shims(&problem, &shared) == TRUEBED_OK);

    pthread_t threads[THREADS];
    int numbers[THREADS];
    for (int at = 0; at < THREADS; at++) {
        numbers[at] = at;
        CHECK(pthread_create(&threads[at], NULL, work, &numbers[at]) == 0);
    }
    for (int at = 0; at < THREADS; at++) {
        CHECK(pthread_join(threads[at], NULL) == 0);
    }
    CHECK(strcmp(truebed_last_error(), "") == 0);
    truebed_plan_free(shared);
    return 0;
}
