/* Lengths, jobs and what needs no argument. */
#ifndef TEXTS_H
#define TEXTS_H

#include "chance.h"

static void lengths(void) {
    static const char *const words[] = {"1",  "0.25", "1/64", "-",  "+",   " ",  "mm",   "in", "thou",
                                        "um", "ft",   "nm",   "1e", "/",   ".",  "\xc2", "cm", "m",
                                        "9",  "999999999999999999999", "\xb5", "\"", "e9", "0"};
    char *text = block(200);
    size_t length = 0;
    for (size_t left = below(5); left > 0; left--) {
        const char *word = words[below(sizeof words / sizeof *words)];
        memcpy(text + length, word, strlen(word));
        length += strlen(word);
    }
    char *exact = block(length + 1);
    memcpy(exact, text, length);
    exact[length] = '\0';
    went_well(truebed_length_parse_mm(or_null(exact), out(sizeof(double))));
    went_well(truebed_slope_parse_mm_per_m(or_null(exact), out(sizeof(double))));
}

static const char JOB[] =
    "{\"version\":1,\"title\":\"t\",\"stock\":[{\"thickness\":\"1 mm\",\"count\":9},"
    "{\"thickness\":\"0.25 mm\",\"count\":null}],\"points\":["
    "{\"id\":\"A\",\"x\":\"0 mm\",\"y\":\"0 mm\",\"role\":\"leg\"},"
    "{\"id\":\"B\",\"x\":\"1 m\",\"y\":\"0 mm\",\"role\":\"leg\"},"
    "{\"id\":\"C\",\"x\":\"1 m\",\"y\":\"60 cm\",\"role\":\"leg\"},"
    "{\"id\":\"S\",\"x\":\"1 m\",\"y\":\"1 cm\",\"role\":{\"slate\":\"w\"}}],"
    "\"readings\":[{\"kind\":\"height\",\"point\":\"A\",\"value\":\"0 mm\"},"
    "{\"kind\":\"height\",\"point\":\"B\",\"value\":\"-1 mm\"},"
    "{\"kind\":\"height\",\"point\":\"C\",\"value\":\"-2.1 mm\"}],"
    "\"legs\":{\"limits\":{\"overall\":\"0.1 mm\"},\"options\":{\"budget\":{\"nodes\":2000}}}}";

/* The job, with bytes and runs of bytes changed, taken out or doubled. */
static char *spoilt_job(size_t *length) {
    enum { ROOM = 4000 };
    char *text = block(ROOM);
    *length = sizeof JOB - 1;
    memcpy(text, JOB, *length);
    if (goes_wrong()) {
        text[strlen("{\"version\":")] = '2';
    }
    for (size_t left = wrong > 0 ? below(6) : 0; left > 0 && *length > 40; left--) {
        const size_t at = below(*length - 20), run = 1 + below(19);
        switch (below(4)) {
        case 0:
            text[at] = (char)bits();
            break;
        case 1:
            memmove(text + at, text + at + run, *length - at - run);
            *length -= run;
            break;
        case 2:
            if (*length + run < ROOM) {
                memmove(text + at + run, text + at, *length - at);
                *length += run;
            }
            break;
        default: {
            /* Some digit becomes another. */
            size_t digit = at;
            while (digit < *length && (text[digit] < '0' || text[digit] > '9')) {
                digit++;
            }
            if (digit < *length) {
                text[digit] = (char)('0' + below(10));
            }
        }
        }
    }
    char *exact = block(*length);
    memcpy(exact, text, *length);
    return exact;
}

static void pages(void) {
    size_t length = 0;
    const char *json = or_null(spoilt_job(&length));
    truebed_text **made = out(sizeof *made);
    if (went_well(truebed_job_page(json, length, made))) {
        read_text(*made);
    }
    made = out(sizeof *made);
    if (went_well(truebed_job_next_pass(json, length, "[]", 2, made))) {
        read_text(*made);
    }
}

/* Of an outcome that is the job's, or one that is spoilt. */
static void outcomes(void) {
    size_t length = 0;
    const char *json = or_null(spoilt_job(&length));
    truebed_budget *budget = once_in(2) ? zeroed(sizeof *budget) : NULL;
    if (budget != NULL) {
        budget->nodes = once_in(2) ? below(3000) : 0;
    }
    truebed_text **made = out(sizeof *made);
    if (went_well(truebed_run_job_json_until(json, length, budget, NULL, NULL, made))) {
        size_t bytes = truebed_text_length(*made);
        char *done = block(bytes);
        memcpy(done, truebed_text_data(*made), bytes);
        read_text(*made);
        for (size_t left = below(4); left > 0; left--) {
            /* Some digit becomes another: a document that can be read, with an outcome that is not its own. */
            size_t digit = below(bytes);
            while (digit < bytes && (done[digit] < '0' || done[digit] > '9')) {
                digit++;
            }
            if (digit < bytes) {
                done[digit] = (char)('0' + below(10));
            }
        }
        int32_t (*const calls[])(const char *, size_t, truebed_text **) = {
            truebed_job_sheet_of_outcome, truebed_job_picture_of_outcome, truebed_job_page_of_outcome};
        for (size_t at = 0; at < sizeof calls / sizeof *calls; at++) {
            made = out(sizeof *made);
            if (went_well(calls[at](done, bytes, made))) {
                read_text(*made);
            }
        }
        made = out(sizeof *made);
        if (went_well(truebed_job_next_pass_of_outcome(done, bytes, "[]", 2, made))) {
            read_text(*made);
        }
    }
    const double xy[] = {0, 0, 1000, 0, 0, 1000}, z[] = {0, 1, 2, 3, 4, wild()};
    truebed_plane *planes = out_struct(2 * sizeof *planes);
    if (planes != NULL && planes->struct_size == 2 * sizeof *planes) {
        planes->struct_size = sizeof *planes;
        watch_count = 0;
    }
    went_well(truebed_fit_planes_on(below(4), xy, 1, z, 2, 3, choice(0, 4), planes, out(sizeof z)));
    const char *jsons[] = {json, JOB};
    const size_t lengths[] = {length, sizeof JOB - 1};
    truebed_jobs **many = out(sizeof *many);
    if (went_well(truebed_run_jobs_json_until(1 + below(3), jsons, lengths, below(3), budget, NULL, NULL, many))) {
        for (size_t at = 0; at <= truebed_jobs_count(*many); at++) {
            went_well(truebed_jobs_get(*many, at, out(sizeof(const truebed_text *))));
        }
        truebed_jobs_free(*many);
    }
}

static void jobs(void) {
    size_t length = 0;
    const char *json = or_null(spoilt_job(&length));
    /* More bytes than memory holds, once in a while. */
    length = goes_wrong() ? SIZE_MAX - below(1000) : length;
    truebed_text **made = out(sizeof *made);
    if (went_well(truebed_job_sheet(json, length, made))) {
        read_text(*made);
    }
    made = out(sizeof *made);
    if (went_well(truebed_job_picture(json, length, made))) {
        read_text(*made);
    }
    if (went_well(truebed_job_picture_narrow(json, length, made))) {
        read_text(*made);
    }
    made = out(sizeof *made);
    went_well(truebed_job_is_met(json, length, out(sizeof(int32_t))));
    made = out(sizeof *made);
    if (went_well(truebed_run_job_json(json, length, made))) {
        const char *done = truebed_text_data(*made);
        const size_t bytes = truebed_text_length(*made);
        went_well(truebed_job_is_met(done, bytes, out(sizeof(int32_t))));
        went_well(truebed_job_conformity(done, bytes, out(sizeof(int32_t))));
        read_text(*made);
    }
    made = once_in(10) ? out(sizeof *made) : NULL;
    if (went_well(truebed_job_schema_json(made))) {
        read_text(*made);
    }
}

static void words(void) {
    CHECK(strlen(truebed_status_text((int32_t)bits())) > 0);
    CHECK(truebed_last_error() != NULL);
    CHECK(strlen(truebed_cautions()) > 100);
    CHECK(strlen(truebed_version()) >= 5 && truebed_version_number() == TRUEBED_VERSION_NUMBER);
    CHECK(truebed_text_data(NULL) == NULL && truebed_text_length(NULL) == 0);
    CHECK(truebed_verdict_count(NULL) == 0 && truebed_plans_count(NULL) == 0);
    truebed_text_free(NULL);
}

#endif
