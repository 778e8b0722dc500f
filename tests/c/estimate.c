/* truebed_floor_model, truebed_estimate, truebed_kit, truebed_kit_front, truebed_find_readings_needed and
   lifting */
#include <math.h>

#include "check.h"

enum { LEGS = 3, KINDS = 2, JOBS = 10 };

static const double XY[] = {0, 0, 2134, 0, 2134, 1016};

typedef struct site {
    truebed_support supports[LEGS];
    truebed_shim stock[KINDS];
    truebed_limits limits;
    truebed_problem problem;
} site;

static void set_up(site *s) {
    memset(s, 0, sizeof *s);
    for (size_t at = 0; at < LEGS; at++) {
        s->supports[at].x_mm = XY[2 * at];
        s->supports[at].y_mm = XY[2 * at + 1];
    }
    const truebed_shim stock[KINDS] = {{.thickness_mm = 2, .count = 3},
                                       {.thickness_mm = 0.25, .count = 9}};
    memcpy(s->stock, stock, sizeof stock);
    s->limits.struct_size = sizeof s->limits;
    s->limits.asked = TRUEBED_LIMIT_OVERALL;
    s->limits.overall_mm = 0.15;
    s->problem.struct_size = sizeof s->problem;
    s->problem.supports = s->supports;
    s->problem.support_count = LEGS;
    s->problem.stock = s->stock;
    s->problem.stock_count = KINDS;
    s->problem.limits = &s->limits;
}

static truebed_floor_model *a_floor(void) {
    truebed_floor_model *floor = NULL;
    CHECK(truebed_floor_model_of_f_numbers(35, 25, &floor) == TRUEBED_OK && floor != NULL);
    return floor;
}

static void models_floors(void) {
    truebed_floor_model *floor = a_floor(), *falling = NULL, *mark = floor;
    double sigma = 0;
    CHECK(truebed_floor_model_sigma_mm(floor, 1016, &sigma) == TRUEBED_OK);
    CHECK(fabs(sigma - 2.03) < 6e-3);
    CHECK(truebed_floor_model_with_fall(floor, 2, &falling) == TRUEBED_OK);
    CHECK(truebed_floor_model_sigma_mm(falling, 1000, &sigma) == TRUEBED_OK && sigma > 2);
    double heights[2 * LEGS], again[2 * LEGS];
    CHECK(truebed_floor_model_sample(floor, XY, LEGS, 2, 7, heights) == TRUEBED_OK);
    CHECK(truebed_floor_model_sample(floor, XY, LEGS, 2, 7, again) == TRUEBED_OK);
    CHECK(memcmp(heights, again, sizeof heights) == 0 && heights[1] != heights[4]);
    truebed_text *text = NULL;
    CHECK(truebed_floor_model_assumptions(floor, &text) == TRUEBED_OK);
    CHECK(strstr(truebed_text_data(text), "F-numbers") != NULL);
    truebed_text_free(text);

    const double read[LEGS] = {0, 30, -30};
    double factor = 0, interval[2] = {0, 0}, percentile = 0;
    truebed_floor_model *updated = NULL;
    CHECK(truebed_floor_model_updated(floor, XY, read, LEGS, 0.05, 10, &factor, &interval, &percentile,
                                      &updated) == TRUEBED_OK);
    CHECK(factor > 1 && interval[0] < factor && factor < interval[1] && percentile > 0.99);
    truebed_floor_model_free(updated);

    REFUSED(truebed_floor_model_of_f_numbers(0, 25, &mark), TRUEBED_BAD_VALUE, "ff");
    REFUSED(truebed_floor_model_of_f_numbers(4, 20, &mark), TRUEBED_BAD_VALUE, "ff");
    REFUSED(truebed_floor_model_of_class(99, &mark), TRUEBED_BAD_VALUE, "floor_class");
    REFUSED(truebed_floor_model_of_sigma(-1, &mark), TRUEBED_BAD_VALUE, "sigma");
    REFUSED(truebed_floor_model_of_sigma(1, NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_floor_model_updated(floor, XY, read, LEGS, 0, 0, NULL, NULL, NULL, &mark),
            TRUEBED_BAD_VALUE, "worth");
    REFUSED(truebed_floor_model_sample(floor, XY, 0, 2, 7, heights), TRUEBED_BAD_SHAPE, "xy");
    REFUSED(truebed_floor_model_sample(floor, XY, LEGS, SIZE_MAX, 7, heights), TRUEBED_BAD_VALUE,
            "floors");
    CHECK(mark == floor);
    truebed_floor_model_free(falling);
    truebed_floor_model_free(floor);
    truebed_floor_model_free(NULL);
}

/* Slates on the frame come on top of the legs. */
static void estimates_slates(void) {
    site s;
    set_up(&s);
    truebed_floor_model *floor = a_floor(), *frame = NULL;
    CHECK(truebed_floor_model_of_sigma(0.3, &frame) == TRUEBED_OK);
    truebed_estimate_options options = {0};
    options.struct_size = sizeof options;
    options.jobs = JOBS;
    truebed_estimate *legs = NULL, *both = NULL;
    s.stock[0].count = s.stock[1].count = 1000;
    CHECK(truebed_estimate_jobs(floor, &s.problem, &options, NULL, NULL, &legs) == TRUEBED_OK);
    options.on_frame = &s.problem;
    options.frame = frame;
    CHECK(truebed_estimate_jobs(floor, &s.problem, &options, NULL, NULL, &both) == TRUEBED_OK);
    double of_legs[JOBS], of_both[JOBS], more = 0;
    size_t count = 0;
    CHECK(truebed_estimate_figures(legs, TRUEBED_FIGURE_PIECES, of_legs, JOBS, &count) == TRUEBED_OK);
    CHECK(truebed_estimate_figures(both, TRUEBED_FIGURE_PIECES, of_both, JOBS, &count) == TRUEBED_OK);
    for (size_t job = 0; job < JOBS; job++) {
        CHECK(of_both[job] >= of_legs[job]);
        more += of_both[job] - of_legs[job];
    }
    CHECK(more > 0);
    truebed_estimate_free(both);
    both = NULL;
    /* As a plate whose weight is beyond its points: it tips in every job. */
    truebed_slab slab = {0};
    slab.struct_size = sizeof slab;
    slab.x_mm[0] = slab.y_mm[0] = -100;
    slab.x_mm[1] = slab.y_mm[1] = 3000;
    slab.thickness_mm = 60;
    slab.e_gpa = 48.36;
    slab.nu = 0.25;
    slab.density_kg_per_m3 = 2794;
    truebed_slab_support supports[LEGS] = {{0}};
    for (size_t at = 0; at < LEGS; at++) {
        supports[at].x_mm = XY[2 * at];
        supports[at].y_mm = XY[2 * at + 1];
    }
    truebed_laid_slab *laid = NULL;
    CHECK(truebed_laid_slab_new(&slab, supports, LEGS, NULL, 0, 0, &laid) == TRUEBED_OK);
    const truebed_laid_slab *slabs[2] = {laid, laid};
    options.slabs = slabs;
    options.slab_count = 1;
    CHECK(truebed_estimate_jobs(floor, &s.problem, &options, NULL, NULL, &both) == TRUEBED_OK);
    CHECK(truebed_estimate_reason(both, TRUEBED_REASON_LOOSE, &count) == TRUEBED_OK);
    CHECK(count == JOBS);
    truebed_estimate_free(both);
    both = NULL;
    options.slab_count = 2;
    REFUSED(truebed_estimate_jobs(floor, &s.problem, &options, NULL, NULL, &both), TRUEBED_BAD_VALUE,
            "on_frame.slabs[1].supports[0]");
    truebed_laid_slab_free(laid);
    options.slabs = NULL;
    options.slab_count = 0;
    options.frame = NULL;
    REFUSED(truebed_estimate_jobs(floor, &s.problem, &options, NULL, NULL, &both), TRUEBED_NULL_POINTER,
            "frame");
    truebed_estimate_free(legs);
    truebed_floor_model_free(frame);
    truebed_floor_model_free(floor);
}

static int32_t at_once(void *context, size_t done) {
    (void)done;
    *(int *)context += 1;
    return 1;
}

static void estimates(void) {
    site s;
    set_up(&s);
    truebed_floor_model *floor = a_floor();
    truebed_rates minutes = {0};
    minutes.struct_size = sizeof minutes;
    minutes.job = 30;
    minutes.lift = 10;
    truebed_estimate_options options = {0};
    options.struct_size = sizeof options;
    options.jobs = JOBS;
    options.seed = 7;
    options.again = 1;
    options.settlement_sigma_mm = 0.05;
    options.minutes = &minutes;
    truebed_estimate *estimate = NULL;
    CHECK(truebed_estimate_jobs(floor, &s.problem, &options, NULL, NULL, &estimate) == TRUEBED_OK);
    truebed_estimate_summary sum = {0};
    sum.struct_size = sizeof sum;
    CHECK(truebed_estimate_get_summary(estimate, &sum) == TRUEBED_OK);
    CHECK(sum.jobs == JOBS && sum.stopped == 0 && sum.again >= 0 && sum.again <= 1);
    CHECK(sum.interval[0] <= sum.served && sum.served <= sum.interval[1]);
    size_t others = 0;
    for (int32_t reason = TRUEBED_REASON_COUNTS; reason <= TRUEBED_REASON_LOOSE; reason++) {
        size_t jobs = 0;
        CHECK(truebed_estimate_reason(estimate, reason, &jobs) == TRUEBED_OK);
        others += jobs;
    }
    CHECK(others == JOBS - sum.served_jobs);

    /* Each job is the plan of its floor. */
    double heights[LEGS * JOBS], pieces[JOBS], lifts_mm[LEGS * JOBS], used[KINDS * JOBS];
    size_t count = 0;
    CHECK(truebed_floor_model_sample(floor, XY, LEGS, JOBS, 7, heights) == TRUEBED_OK);
    CHECK(truebed_estimate_figures(estimate, TRUEBED_FIGURE_PIECES, pieces, JOBS, &count)
          == TRUEBED_OK);
    CHECK(count == JOBS);
    CHECK(truebed_estimate_lifts_mm(estimate, lifts_mm, LEGS * JOBS, &count) == TRUEBED_OK);
    CHECK(truebed_estimate_used(estimate, used, KINDS * JOBS, &count) == TRUEBED_OK);
    for (size_t job = 0; job < JOBS; job++) {
        for (size_t leg = 0; leg < LEGS; leg++) {
            s.supports[leg].height_mm = heights[LEGS * job + leg];
        }
        truebed_plan *plan = NULL;
        truebed_plan_summary of = {0};
        of.struct_size = sizeof of;
        CHECK(truebed_plan_shims(&s.problem, &plan) == TRUEBED_OK);
        CHECK(truebed_plan_get_summary(plan, &of) == TRUEBED_OK);
        if (of.meets_limits == 1) {
            CHECK(pieces[job] == (double)of.pieces);
            CHECK(used[KINDS * job] + used[KINDS * job + 1] == (double)of.pieces);
        } else {
            CHECK(isnan(pieces[job]) && isnan(lifts_mm[LEGS * job]));
        }
        truebed_plan_free(plan);
    }
    double median = 0;
    CHECK(truebed_estimate_quantile(estimate, TRUEBED_FIGURE_MINUTES, 0.5, &median) == TRUEBED_OK);
    CHECK(median >= 30);
    CHECK(truebed_estimate_figures(estimate, TRUEBED_FIGURE_COST, NULL, 0, &count) == TRUEBED_OK);
    CHECK(count == 0);
    REFUSED(truebed_estimate_figures(estimate, 9, NULL, 0, &count), TRUEBED_BAD_VALUE, "figure");
    REFUSED(truebed_estimate_reason(estimate, -1, &count), TRUEBED_BAD_VALUE, "reason");
    REFUSED(truebed_estimate_figures(estimate, TRUEBED_FIGURE_LIFTS, pieces, 1, &count),
            TRUEBED_BUFFER_TOO_SMALL, "capacity");
    truebed_estimate_free(estimate);
    truebed_estimate_free(NULL);

    /* A caller that stops it has what was drawn by then. */
    int calls = 0;
    options.jobs = 100000;
    CHECK(truebed_estimate_jobs(floor, &s.problem, &options, at_once, &calls, &estimate) == TRUEBED_OK);
    CHECK(truebed_estimate_get_summary(estimate, &sum) == TRUEBED_OK);
    CHECK(calls > 0 && sum.stopped == 1 && sum.jobs < 100000);
    truebed_estimate_free(estimate);

    truebed_estimate *const mark = NULL;
    truebed_estimate *out = mark;
    options.jobs = JOBS;
    options.confidence = 1;
    minutes.lift = -1;
    REFUSED(truebed_estimate_jobs(floor, &s.problem, &options, NULL, NULL, &out), TRUEBED_BAD_VALUE,
            "minutes.lift");
    REFUSED(truebed_estimate_jobs(NULL, &s.problem, NULL, NULL, NULL, &out), TRUEBED_NULL_POINTER,
            "floor");
    CHECK(out == mark);
    truebed_floor_model_free(floor);
}

static void finds_kits(void) {
    site s;
    set_up(&s);
    truebed_floor_model *floor = a_floor();
    const uint32_t most[KINDS] = {20, 30}, packs[KINDS] = {1, 5};
    truebed_kit_options options = {0};
    options.struct_size = sizeof options;
    options.share = 0.4;
    options.confidence = 0.6;
    options.training_jobs = 10;
    options.fresh_jobs = 20;
    options.most = most;
    options.most_count = KINDS;
    options.packs = packs;
    options.packs_count = KINDS;
    truebed_kit *kit = NULL;
    CHECK(truebed_find_kit(floor, &s.problem, &options, NULL, NULL, &kit) == TRUEBED_OK);
    truebed_kit_summary sum = {0};
    sum.struct_size = sizeof sum;
    CHECK(truebed_kit_get_summary(kit, &sum) == TRUEBED_OK);
    CHECK(sum.meets_share == 1 && sum.fresh_jobs == 20 && sum.attempts >= 1 && sum.solved > 0);
    CHECK(sum.interval[0] <= sum.served && sum.failures == 20 - (size_t)lround(20 * sum.served));
    uint32_t counts[KINDS];
    size_t count = 0;
    CHECK(truebed_kit_counts(kit, counts, KINDS, &count) == TRUEBED_OK && count == KINDS);
    CHECK(counts[0] <= 20 && counts[1] <= 30 && counts[1] % 5 == 0);
    size_t kind = 9;
    double share = 0;
    CHECK(truebed_kit_addition(kit, 0, &kind, &share) == TRUEBED_OK && kind < KINDS && share > 0.3);
    REFUSED(truebed_kit_addition(kit, 2, &kind, &share), TRUEBED_UNKNOWN, "at");
    truebed_kit_free(kit);
    truebed_kit_free(NULL);

    /* Slates take from what the legs leave. */
    site slates;
    set_up(&slates);
    truebed_floor_model *frame = NULL;
    CHECK(truebed_floor_model_of_sigma(0.2, &frame) == TRUEBED_OK);
    options.slates = &slates.problem;
    options.frame = frame;
    CHECK(truebed_find_kit(floor, &s.problem, &options, NULL, NULL, &kit) == TRUEBED_OK);
    truebed_kit_summary both = {0};
    both.struct_size = sizeof both;
    CHECK(truebed_kit_get_summary(kit, &both) == TRUEBED_OK);
    CHECK(both.proven == 0 && both.solved == 20);
    truebed_kit_free(kit);
    truebed_kit *const untouched = NULL;
    kit = untouched;
    options.frame = NULL;
    REFUSED(truebed_find_kit(floor, &s.problem, &options, NULL, NULL, &kit), TRUEBED_NULL_POINTER,
            "frame");
    slates.problem.support_count = 0;
    options.frame = frame;
    REFUSED(truebed_find_kit(floor, &s.problem, &options, NULL, NULL, &kit), TRUEBED_BAD_SHAPE,
            "slates.supports");
    CHECK(kit == untouched);
    truebed_floor_model_free(frame);
    options.slates = NULL;
    options.frame = NULL;
    options.share = 1;
    options.most_count = 1;
    REFUSED(truebed_find_kit(floor, &s.problem, &options, NULL, NULL, &kit), TRUEBED_BAD_VALUE, "share");
    REFUSED(truebed_find_kit(floor, &s.problem, &options, NULL, NULL, &kit), TRUEBED_BAD_VALUE, "most");
    truebed_floor_model_free(floor);
}

static void finds_fronts(void) {
    site s;
    set_up(&s);
    truebed_floor_model *floor = a_floor();
    const double shares[] = {0.8, 0.4}, beyond[] = {0.5, 1};
    truebed_kit_options options = {0};
    options.struct_size = sizeof options;
    options.training_jobs = 20;
    options.fresh_jobs = 20;
    truebed_kit_front *front = NULL;
    CHECK(truebed_find_kit_front(floor, &s.problem, &options, shares, 2, NULL, NULL, &front)
          == TRUEBED_OK);
    /* The smaller share first, and more pieces for the larger. */
    CHECK(truebed_kit_front_count(front) == 2 && truebed_kit_front_count(NULL) == 0);
    uint32_t before = 0;
    for (size_t at = 0; at < 2; at++) {
        truebed_front_kit of = {0};
        of.struct_size = sizeof of;
        CHECK(truebed_kit_front_get(front, at, &of) == TRUEBED_OK);
        CHECK(of.training_share == shares[1 - at] && of.proven == 1 && of.pieces > before);
        CHECK(of.interval[0] <= of.served && of.served <= of.interval[1]);
        uint32_t counts[KINDS];
        size_t count = 0;
        CHECK(truebed_kit_front_counts(front, at, counts, KINDS, &count) == TRUEBED_OK);
        CHECK(count == KINDS && counts[0] + counts[1] == of.pieces);
        before = of.pieces;
    }
    truebed_text *text = NULL;
    CHECK(truebed_kit_front_picture(front, &text) == TRUEBED_OK);
    CHECK(strncmp(truebed_text_data(text), "<svg", 4) == 0);
    CHECK(strstr(truebed_text_data(text), "trained people") != NULL);
    truebed_text_free(text);
    size_t count = 0;
    truebed_front_kit of = {0};
    of.struct_size = sizeof of;
    REFUSED(truebed_kit_front_get(front, 2, &of), TRUEBED_UNKNOWN, "at");
    REFUSED(truebed_kit_front_counts(front, 2, NULL, 0, &count), TRUEBED_UNKNOWN, "at");
    truebed_kit_front_free(front);
    truebed_kit_front_free(NULL);
    truebed_kit_front *mark = NULL;
    REFUSED(truebed_find_kit_front(floor, &s.problem, &options, beyond, 2, NULL, NULL, &mark),
            TRUEBED_BAD_VALUE, "shares[1]");
    REFUSED(truebed_find_kit_front(floor, &s.problem, &options, shares, 0, NULL, NULL, &mark),
            TRUEBED_BAD_SHAPE, "shares");
    options.jobs_a_day = 2;
    REFUSED(truebed_find_kit_front(floor, &s.problem, &options, shares, 2, NULL, NULL, &mark),
            TRUEBED_BAD_VALUE, "jobs_a_day");
    CHECK(mark == NULL);
    truebed_floor_model_free(floor);
}

static void weighs(void) {
    const double outline[] = {0, 0, 700, 0, 700, 1000, 0, 1000};
    double kg = 0, centre[2] = {0, 0};
    CHECK(truebed_slate_mass(outline, 4, 25, 2793.6, &kg, &centre) == TRUEBED_OK);
    /* 0.7 x 1 x 0.025 m3 of 2793.6 kg/m3 */
    CHECK(fabs(kg - 48.888) < 1e-9 && fabs(centre[0] - 350) < 1e-9 && fabs(centre[1] - 500) < 1e-9);
    CHECK(truebed_slate_mass(outline, 4, 25, 2793.6, &kg, NULL) == TRUEBED_OK);
    REFUSED(truebed_slate_mass(outline, 2, 25, 2793.6, &kg, NULL), TRUEBED_BAD_GEOMETRY, "outline");
    REFUSED(truebed_slate_mass(outline, 4, 0, 2793.6, &kg, NULL), TRUEBED_BAD_VALUE, "thickness");

    const double legs[] = {0, 0, 2000, 0, 2000, 1000, 0, 1000};
    double stands[4], raises[4];
    CHECK(truebed_leg_loads(legs, 4, 400, 1000, 500, stands, raises) == TRUEBED_OK);
    for (size_t leg = 0; leg < 4; leg++) {
        CHECK(fabs(stands[leg] - 100) < 1e-9 && fabs(raises[leg] - 200) < 1e-9);
    }
    CHECK(truebed_leg_loads(legs, 4, 400, 3000, 500, stands, raises) == TRUEBED_OK);
    CHECK(isnan(raises[0]));
    CHECK(truebed_leg_loads(legs, 4, 400, 1000, 500, stands, NULL) == TRUEBED_OK);
    REFUSED(truebed_leg_loads(legs, 4, -1, 0, 0, stands, NULL), TRUEBED_BAD_VALUE, "kg");

    uint32_t count = 0;
    CHECK(truebed_people(115.5, 0, &count) == TRUEBED_OK && count == 6);
    CHECK(truebed_people(100, 25, &count) == TRUEBED_OK && count == 4);
    REFUSED(truebed_people(100, -1, &count), TRUEBED_BAD_VALUE, "kg_a_person");
}

static void counts_readings(void) {
    site s;
    set_up(&s);
    truebed_readings_needed needed = {0};
    needed.struct_size = sizeof needed;
    CHECK(truebed_find_readings_needed(XY, 2, &s.limits, TRUEBED_PATTERN_HEIGHTS, 0.5, 0.05, 0.05,
                                       &needed) == TRUEBED_OK);
    /* 0.2 mm >= 1.95996 x 0.5 x sqrt(2 / r) */
    CHECK(needed.rounds == 49 && needed.readings == 98 && needed.doubt <= 0.05);
    REFUSED(truebed_find_readings_needed(XY, 2, &s.limits, 7, 0.5, 0, 0.05, &needed), TRUEBED_BAD_VALUE,
            "pattern");
    REFUSED(truebed_find_readings_needed(XY, 1, &s.limits, 0, 0.5, 0, 0.05, &needed), TRUEBED_BAD_SHAPE,
            "xy");
    REFUSED(truebed_find_readings_needed(XY, 2, &s.limits, 0, 0.5, 0.15, 0.05, &needed),
            TRUEBED_BAD_VALUE, "limits.overall");
    REFUSED(truebed_find_readings_needed(XY, 2, NULL, 0, 0.5, 0, 0.05, &needed), TRUEBED_NULL_POINTER,
            "limits");
}

int main(void) {
    models_floors();
    estimates();
    estimates_slates();
    finds_kits();
    finds_fronts();
    weighs();
    counts_readings();
    return 0;
}
