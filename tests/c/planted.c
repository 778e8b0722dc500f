/* Faults on purpose, one for each tool that must find it: the proof that the tool looks. */
#include "check.h"

/* Three heights, of which the library is told that there are four; or four that are freed already.
 * It reads them by itself. */
static void check_heights(int freed) {
    const size_t room = freed ? 4 : 3;
    /* Volatile, so that the compiler does not see what is done with it. */
    double *volatile heights = calloc(room, sizeof *heights);
    CHECK(heights != NULL);
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    truebed_verdict *verdict = NULL;
    if (freed) {
        free(heights);
    }
    truebed_check(NULL, heights, 4, &limits, NULL, 0, &verdict);
    if (!freed) {
        free(heights);
    }
    truebed_verdict_free(verdict);
}

int main(int count, char **arguments) {
    CHECK(count == 2);
    if (strcmp(arguments[1], "overflow") == 0) {
        /* Room for three, of which the library is told that there is room for four. */
        const truebed_support supports[4] = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {1, 1, 0}};
        const truebed_shim shim = {.thickness_mm = 1, .count = 1};
        truebed_limits limits = {0};
        limits.struct_size = sizeof limits;
        limits.asked = TRUEBED_LIMIT_OVERALL;
        truebed_problem problem = {0};
        problem.struct_size = sizeof problem;
        problem.supports = supports;
        problem.support_count = 4;
        problem.stock = &shim;
        problem.stock_count = 1;
        problem.limits = &limits;
        truebed_plan *plan = NULL;
        CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK);
        double *tops = malloc(3 * sizeof *tops);
        size_t tops_count = 0;
        CHECK(truebed_plan_tops_mm(plan, tops, 4, &tops_count) == TRUEBED_OK);
        free(tops);
        truebed_plan_free(plan);
    } else if (strcmp(arguments[1], "leak") == 0) {
        truebed_text *schema = NULL;
        CHECK(truebed_job_schema_json(&schema) == TRUEBED_OK);
    } else if (strcmp(arguments[1], "overrun") == 0) {
        int32_t number = INT32_MAX - count + 2;
        number += count;
        CHECK(number != 0);
    } else if (strcmp(arguments[1], "beyond") == 0) {
        check_heights(0);
    } else if (strcmp(arguments[1], "freed") == 0) {
        check_heights(1);
    } else if (strcmp(arguments[1], "stale") == 0) {
        truebed_text *schema = NULL;
        CHECK(truebed_job_schema_json(&schema) == TRUEBED_OK);
        truebed_text_free(schema);
        CHECK(truebed_text_length(schema) > 0);
    }
    return 0;
}
