/* Each thread has its own last error; handles are read by all; and each thread may make its own. */
#include <math.h>
#include <pthread.h>

#include "check.h"

enum { THREADS = 8, TIMES = 50, LEGS = 4 };

/* Read by all threads. */
static truebed_plan *shared;
static truebed_verdict *verdict;
static double tops[LEGS];

static const double COVARIANCE[LEGS * LEGS] = {4e-4, 0, 0, 0, 0, 4e-4, 0, 0,
                                               0, 0, 4e-4, 0, 0, 0, 0, 4e-4};
static const truebed_shim STOCK[] = {{.thickness_mm = 1, .count = 6},
                                     {.thickness_mm = 0.25, .count = 6},
                                     {.thickness_mm = 0.05, .count = 6}};

/* A plan for legs of which each thread has its own, and the verdict that it foresees. */
static void plan_legs(int number, truebed_plan **plan, truebed_verdict **foreseen) {
    const double low = -1.3 - 0.05 * number;
    const truebed_support legs[LEGS] = {{0, 0, 0}, {2000, 0, low}, {2000, 1000, -0.5}, {0, 1000, -2}};
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = 0.06;
    truebed_problem problem = {0};
    problem.struct_size = sizeof problem;
    problem.supports = legs;
    problem.support_count = LEGS;
    problem.stock = STOCK;
    problem.stock_count = 3;
    problem.limits = &limits;
    problem.covariance_mm2 = COVARIANCE;
    CHECK(truebed_plan_shims(&problem, plan) == TRUEBED_OK);
    CHECK(truebed_plan_predict(&problem, *plan, TRUEBED_RULE_ISO_14253_1, 0, foreseen)
          == TRUEBED_OK);
}

static double probability(const truebed_verdict *of) {
    truebed_verdict_summary summary = {0};
    summary.struct_size = sizeof summary;
    CHECK(truebed_verdict_get_summary(of, &summary) == TRUEBED_OK);
    return summary.probability;
}

/* What every thread must get, computed by one. */
static double expected[THREADS];

static void *work(void *place) {
    const int number = *(const int *)place;
    char bad[20], named[40];
    snprintf(bad, sizeof bad, "%d", number);
    snprintf(named, sizeof named, "length: got \"%d\"", number);
    CHECK(strcmp(truebed_last_error(), "") == 0);
    for (int time = 0; time < TIMES; time++) {
        double mm = 0, read[LEGS];
        size_t count = 0;
        CHECK(truebed_length_parse_mm(bad, &mm) == TRUEBED_BAD_LENGTH);
        CHECK(truebed_plan_tops_mm(shared, read, LEGS, &count) == TRUEBED_OK && count == LEGS);
        CHECK(memcmp(read, tops, sizeof tops) == 0);
        CHECK(probability(verdict) == expected[0]);
        if (time % 10 == 0) {
            truebed_plan *own = NULL;
            truebed_verdict *foreseen = NULL;
            plan_legs(number, &own, &foreseen);
            CHECK(probability(foreseen) == expected[number]);
            truebed_verdict_free(foreseen);
            truebed_plan_free(own);
        }
        CHECK(strncmp(truebed_last_error(), named, strlen(named)) == 0);
    }
    return NULL;
}

int main(void) {
    for (int at = THREADS - 1; at >= 0; at--) {
        truebed_plan_free(shared);
        truebed_verdict_free(verdict);
        plan_legs(at, &shared, &verdict);
        expected[at] = probability(verdict);
        CHECK(expected[at] > 0 && expected[at] < 1);
    }
    size_t count = 0;
    CHECK(truebed_plan_tops_mm(shared, tops, LEGS, &count) == TRUEBED_OK);

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
    truebed_verdict_free(verdict);
    truebed_plan_free(shared);
    return 0;
}
