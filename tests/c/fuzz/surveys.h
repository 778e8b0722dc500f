/* Surveys, filled reading by reading, their heights, and what to read next. */
#ifndef SURVEYS_H
#define SURVEYS_H

#include "planes.h"

/* The name of a point, a level or a setup. */
static const char *name(void) {
    static const char *const names[] = {"A", "B", "C", "D"};
    if (goes_wrong()) {
        static const char *const others[] = {NULL, "", "E", "\xff", "a long name of a point"};
        return others[below(5)];
    }
    return names[below(4)];
}

static const char **names(size_t count) {
    const char **made = block(count * sizeof *made);
    for (size_t at = 0; at < count; at++) {
        made[at] = name();
    }
    return or_null(made);
}

static void add_reading(truebed_survey *survey) {
    const double mm = steps(-3, 0.25, 24), sigma = steps(0.02, 0.02, 3);
    const char *const level = once_in(2) ? NULL : name();
    switch (below(9)) {
    case 0:
        went_well(truebed_survey_height(survey, name(), mm, sigma));
        break;
    case 1:
        went_well(
            truebed_survey_height_from_setup(survey, name(), choice(0, 3), name(), mm, sigma));
        break;
    case 2:
        went_well(truebed_survey_rise(survey, name(), name(), mm, sigma));
        break;
    case 3: {
        const size_t count = below(4);
        went_well(truebed_survey_bubble(survey, name(), name(), numbers(count, -2, 0.5, 8),
                                        counted(count), steps(0.02, 0.02, 4), steps(0, 200, 2),
                                        steps(0, 500, 2), level, choice(0, 1), sigma));
        break;
    }
    case 4:
        went_well(truebed_survey_slope(survey, name(), name(), mm, steps(0, 500, 2), level,
                                       choice(0, 1), sigma));
        break;
    case 5:
        went_well(
            truebed_survey_gap(survey, name(), name(), name(), steps(0, 0.25, 4), mm, sigma));
        break;
    case 6:
        went_well(truebed_survey_leg_gap(survey, name(), steps(0, 0.1, 4), sigma));
        went_well(truebed_survey_slate_gap(survey, name(), steps(0, 0.1, 4), sigma));
        break;
    case 7: {
        const size_t count = below(5);
        went_well(truebed_survey_line(survey, names(count), counted(count),
                                      numbers(count > 0 ? count - 1 : 0, -2, 0.5, 8),
                                      steps(0.02, 0.02, 4), steps(0, 200, 2), level, choice(0, 1),
                                      sigma));
        break;
    }
    default: {
        const size_t rows = below(4), columns = below(4);
        const size_t along = columns > 0 ? rows * (columns - 1) : 0;
        const size_t across = rows > 0 ? (rows - 1) * columns : 0;
        went_well(truebed_survey_grid(survey, names(rows * columns), counted(rows), columns,
                                      numbers(along, -2, 0.5, 8), numbers(across, -2, 0.5, 8),
                                      steps(0.02, 0.02, 4), steps(0, 200, 2), level, sigma));
    }
    }
}

static void add_table(truebed_survey *survey) {
    static const char *const words[] = {"kind", "point", "value", ",", ",", "\n", "height", "A",
                                        "1 mm", "\"", "rise", "a", "b", "sigma", "\xff", "9"};
    static const char TABLE[] = "kind,point,value,sigma\nheight,A,1 mm,0.1 mm\n";
    char *text = block(400);
    size_t length = once_in(2) ? sizeof TABLE - 1 : 0;
    memcpy(text, TABLE, length);
    for (size_t left = wrong > 0 ? below(20) : 0; left > 0; left--) {
        const char *word = words[below(sizeof words / sizeof *words)];
        memcpy(text + length, word, strlen(word));
        length += strlen(word);
    }
    char *exact = block(length);
    memcpy(exact, text, length);
    went_well(truebed_survey_csv(survey, or_null(exact), length));
}

static void configure(truebed_survey *survey) {
    if (once_in(9)) {
        went_well(truebed_survey_laser(survey, name(), steps(0, 0.1, 2)));
    }
    switch (below(7)) {
    case 0:
        went_well(truebed_survey_fix(survey, name(), steps(0, 0.5, 2), steps(0, 0.1, 2)));
        break;
    case 1:
        went_well(truebed_survey_datum(survey, name()));
        break;
    case 2:
        went_well(truebed_survey_level(survey, name(), steps(0, 0.1, 2)));
        break;
    case 3:
        went_well(truebed_survey_without(survey, below(5)));
        break;
    case 4:
        went_well(truebed_survey_surface(survey, choice(0, 1)));
        break;
    case 5:
        went_well(truebed_survey_test(survey, choice(0, 1), steps(0.001, 0.01, 3), 0.8));
        break;
    default:
        went_well(truebed_survey_place(survey, name(), steps(0, 500, 4), steps(0, 500, 4)));
    }
}

/* Every reader of heights. */
static void read_heights(const truebed_heights *heights) {
    heights = or_null((void *)heights);
    const size_t capacity = below(30);
    const char **id = out(sizeof *id);
    if (went_well(truebed_heights_id(heights, below(6), id))) {
        CHECK(strlen(*id) < 100);
    }
    truebed_heights_summary *const summary = out_struct(sizeof(truebed_heights_summary));
    went_well(capacity % 2 == 0 ? truebed_heights_get_summary(heights, summary)
                                : truebed_heights_summarise(heights, summary));
    went_well(truebed_heights_mm(heights, out(capacity * sizeof(double)), capacity,
                                 out(sizeof(size_t))));
    went_well(truebed_heights_sigma_mm(heights, out(capacity * sizeof(double)), capacity,
                                 out(sizeof(size_t))));
    double *const square = out(capacity * sizeof *square);
    size_t *const size = out(sizeof *size);
    went_well(capacity % 2 == 0
                  ? truebed_heights_covariance_mm2(heights, square, capacity, size)
                  : truebed_heights_covariance_until(heights, stop, patience(), square, capacity, size));
    went_well(truebed_heights_residuals_mm(heights, out(capacity * sizeof(double)), capacity,
                                 out(sizeof(size_t))));
    went_well(truebed_heights_redundancy(heights, out(capacity * sizeof(double)), capacity,
                                 out(sizeof(size_t))));
    went_well(truebed_heights_normalised(heights, out(capacity * sizeof(double)), capacity,
                                 out(sizeof(size_t))));
    went_well(truebed_heights_tau(heights, out(capacity * sizeof(double)), capacity,
                                 out(sizeof(size_t))));
    went_well(truebed_heights_detectable_mm(heights, out(capacity * sizeof(double)), capacity,
                                 out(sizeof(size_t))));
    went_well(truebed_heights_suspects(heights, out(capacity * sizeof(size_t)), capacity,
                                 out(sizeof(size_t))));
    went_well(truebed_heights_left_out(heights, out(capacity * sizeof(size_t)), capacity,
                                 out(sizeof(size_t))));
    const size_t setups = truebed_heights_setup_count(heights);
    const size_t levels = truebed_heights_level_count(heights);
    const size_t loops = truebed_heights_closure_count(heights);
    went_well(truebed_heights_setup(heights, below(setups + 1), out_struct(sizeof(truebed_offset))));
    went_well(truebed_heights_level(heights, below(levels + 1), out_struct(sizeof(truebed_offset))));
    went_well(truebed_heights_closure(heights, below(loops + 1), out(sizeof(double)),
                                      out(sizeof(double)), out(capacity * sizeof(size_t)), capacity,
                                      out(sizeof(size_t))));
    const size_t groups = truebed_heights_suspect_group_count(heights);
    const size_t unchecked = truebed_heights_unchecked_count(heights);
    went_well(truebed_heights_suspect_group(heights, below(groups + 1), out(sizeof(double)),
                                            out(capacity * sizeof(size_t)), capacity,
                                            out(sizeof(size_t))));
    went_well(truebed_heights_separability(heights, below(6), out(sizeof(size_t)),
                                           out(sizeof(double))));
    went_well(truebed_heights_unchecked(heights, below(unchecked + 1), out(sizeof(int32_t)), id));
}

/* What further readings of their own survey would do for a claim. */
static void next(const truebed_survey *survey) {
    truebed_survey **made = out(sizeof *made);
    if (!went_well(truebed_survey_new(made))) {
        return;
    }
    truebed_survey *const candidates = *made;
    for (size_t left = 1 + below(3); left > 0; left--) {
        add_reading(candidates);
    }
    const size_t count = 1 + below(3);
    truebed_claim *claim = zeroed(sizeof *claim);
    claim->points = names(count);
    claim->point_count = counted(count);
    claim->xy_mm = once_in(4) ? NULL : places(count);
    claim->lifts_mm = once_in(2) ? NULL : heights(count);
    claim->limits = some_limits(count, 0);
    claim->rule = some_rule(&claim->risk);
    truebed_next_readings **told = out(sizeof *told);
    if (went_well(once_in(2) ? truebed_read_next(survey, or_null(candidates), or_null(claim), told)
                             : truebed_read_next_until(survey, or_null(candidates), or_null(claim), stop,
                                                       patience(), told))) {
        const truebed_next_readings *const some = or_null(*told);
        went_well(truebed_next_readings_get_summary(some, out_struct(sizeof(truebed_next_summary))));
        went_well(
            truebed_next_readings_get(some, below(4), out_struct(sizeof(truebed_next_reading))));
        const truebed_verdict **verdict = out(sizeof *verdict);
        if (went_well(truebed_next_readings_verdict(some, verdict))) {
            read_verdict(*verdict);
        }
        truebed_next_readings_free(*told);
    }
    truebed_next_readings_free(NULL);
    truebed_survey_free(candidates);
}

static void surveys(void) {
    truebed_survey **made = out(sizeof *made);
    if (!went_well(truebed_survey_new(made))) {
        return;
    }
    truebed_survey *const survey = *made;
    for (size_t left = below(12); left > 0; left--) {
        add_reading(or_null(survey));
    }
    if (once_in(6)) {
        add_table(or_null(survey));
    }
    for (size_t left = once_in(2) ? 0 : below(4); left > 0; left--) {
        configure(or_null(survey));
    }
    CHECK(truebed_survey_count(survey) < 1000 && truebed_survey_count(NULL) == 0);
    truebed_heights **heights = out(sizeof *heights);
    if (went_well(once_in(2) ? truebed_adjust(or_null(survey), heights)
                             : truebed_adjust_until(or_null(survey), stop, patience(), heights))) {
        read_heights(*heights);
        truebed_text **drawn = out(sizeof *drawn);
        if (went_well(truebed_heights_picture(or_null(*heights), drawn))) {
            read_text(*drawn);
        }
        if (went_well(truebed_heights_picture_in(*heights, 3, drawn))) {
            read_text(*drawn);
        }
        if (went_well(truebed_heights_picture_narrow(*heights, TRUEBED_UNITS_INCH, drawn))) {
            read_text(*drawn);
        }
        truebed_heights_free(*heights);
        next(or_null(survey));
    }
    truebed_heights_free(NULL);
    truebed_survey_free(survey);
    truebed_survey_free(NULL);
}

static void union_jacks(void) {
    const double **lines = block(8 * sizeof *lines);
    size_t *counts = block(8 * sizeof *counts), stations = 0;
    for (size_t at = 0; at < 8; at++) {
        counts[at] = goes_wrong() ? below(6) : at < 2 ? 4 : 2;
        stations += counts[at] + 1;
        lines[at] = numbers(counts[at], -2, 0.5, 8);
    }
    double *const heights = once_in(2) ? NULL : out(stations * sizeof *heights);
    went_well(truebed_union_jack(or_null(lines), or_null(counts), steps(0.01, 0.01, 3),
                                 steps(100, 50, 3), heights, out(2 * sizeof(double)),
                                 out(sizeof(double))));
}

#endif
