/* What happens when the system gives no more memory and no more threads. */
#define _POSIX_C_SOURCE 200809L

#include <sys/resource.h>
#include <unistd.h>

#include "check.h"

enum { POINTS = 3000, LEGS = 4, PROBLEMS = 40 };

/* From now on the process gets so many bytes of address space more than it has. */
static void leave(size_t bytes) {
    FILE *file = fopen("/proc/self/statm", "r");
    unsigned long pages = 0;
    CHECK(file != NULL && fscanf(file, "%lu", &pages) == 1);
    fclose(file);
    const size_t has = (size_t)pages * (size_t)sysconf(_SC_PAGESIZE);
    struct rlimit limit;
    CHECK(getrlimit(RLIMIT_AS, &limit) == 0);
    limit.rlim_cur = bytes == 0 ? limit.rlim_max : (rlim_t)(has + bytes);
    CHECK(setrlimit(RLIMIT_AS, &limit) == 0);
}

/* A covariance that has no room is refused, and nothing else is lost. */
static void without_memory(void) {
    truebed_survey *survey = NULL;
    CHECK(truebed_survey_new(&survey) == TRUEBED_OK);
    char from[20] = "P0", to[20];
    CHECK(truebed_survey_height(survey, from, 0, 0) == TRUEBED_OK);
    for (int at = 1; at < POINTS; at++) {
        snprintf(to, sizeof to, "P%d", at);
        CHECK(truebed_survey_rise(survey, from, to, 0.01, 0.02) == TRUEBED_OK);
        memcpy(from, to, sizeof from);
    }
    truebed_heights *heights = NULL;
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    double *covariance = malloc(sizeof *covariance * POINTS * POINTS);
    CHECK(covariance != NULL);
    covariance[0] = -1;
    size_t count = 7;
    leave(16 << 20);
    REFUSED(truebed_heights_covariance_mm2(heights, covariance, (size_t)POINTS * POINTS, &count),
            TRUEBED_OUT_OF_MEMORY, "covariance");
    CHECK(covariance[0] == -1 && count == 7);
    leave(0);
    free(covariance);
    truebed_heights_free(heights);
    truebed_survey_free(survey);
}

/* Where no thread has room for its stack, the calling thread does the work; the plans are the same. */
static void without_threads(void) {
    const truebed_shim stock[] = {{.thickness_mm = 1, .count = TRUEBED_UNLIMITED},
                                  {.thickness_mm = 0.25, .count = TRUEBED_UNLIMITED}};
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = 0.2;
    static truebed_support legs[PROBLEMS][LEGS];
    static truebed_problem each[PROBLEMS];
    const truebed_problem *problems[PROBLEMS];
    for (int at = 0; at < PROBLEMS; at++) {
        for (int leg = 0; leg < LEGS; leg++) {
            legs[at][leg].x_mm = leg % 2 * 2000;
            legs[at][leg].y_mm = leg / 2 * 1000;
            legs[at][leg].height_mm = -0.05 * (at * leg % 37);
        }
        each[at].struct_size = sizeof each[at];
        each[at].supports = legs[at];
        each[at].support_count = LEGS;
        each[at].stock = stock;
        each[at].stock_count = 2;
        each[at].limits = &limits;
        problems[at] = &each[at];
    }
    truebed_plans *lists[3] = {NULL, NULL, NULL};
    CHECK(truebed_plan_many(problems, PROBLEMS, &lists[0]) == TRUEBED_OK);
    CHECK(truebed_plan_many_on(1, problems, PROBLEMS, NULL, NULL, &lists[1]) == TRUEBED_OK);
    /* A stack of 2 MB does not fit. */
    leave(1 << 20);
    CHECK(truebed_plan_many(problems, PROBLEMS, &lists[2]) == TRUEBED_OK);
    leave(0);
    for (int at = 0; at < PROBLEMS; at++) {
        double tops[3][LEGS];
        for (int list = 0; list < 3; list++) {
            const truebed_plan *plan = NULL;
            size_t count = 0;
            CHECK(truebed_plans_get(lists[list], (size_t)at, &plan) == TRUEBED_OK);
            CHECK(truebed_plan_tops_mm(plan, tops[list], LEGS, &count) == TRUEBED_OK);
        }
        CHECK(memcmp(tops[0], tops[1], sizeof tops[0]) == 0);
        CHECK(memcmp(tops[0], tops[2], sizeof tops[0]) == 0);
    }
    for (int list = 0; list < 3; list++) {
        truebed_plans_free(lists[list]);
    }
}

int main(void) {
    without_threads();
    without_memory();
    return 0;
}
