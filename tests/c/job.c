/* truebed_run_job_json, truebed_job_sheet, truebed_job_is_met and truebed_job_conformity */
#include "check.h"

/* A job in order, with ' for ". */
static const char JOB[] =
    "{'version': 1, 'title': 'test', 'stock': [{'thickness': '1 mm', 'count': 9}],"
    " 'points': [{'id': 'A', 'x': '0 mm', 'y': '0 mm', 'role': 'leg'},"
    " {'id': 'B', 'x': '1 m', 'y': '0 mm', 'role': 'leg'},"
    " {'id': 'C', 'x': '1 m', 'y': '60 cm', 'role': 'leg'}],"
    " 'readings': [{'kind': 'height', 'point': 'A', 'value': '0 mm'},"
    " {'kind': 'height', 'point': 'B', 'value': '-1 mm'},"
    " {'kind': 'height', 'point': 'C', 'value': '-2 mm'}],"
    " 'legs': {'limits': {'overall': '0.1 mm'}}}";

static char *copy(const char *text, size_t length) {
    char *made = malloc(length + 1);
    CHECK(made != NULL);
    memcpy(made, text, length);
    made[length] = '\0';
    return made;
}

/* The text with its first `from` replaced. */
static char *with(const char *text, const char *from, const char *to) {
    const char *at = strstr(text, from);
    CHECK(at != NULL);
    char *made = malloc(strlen(text) + strlen(to) + 1);
    CHECK(made != NULL);
    sprintf(made, "%.*s%s%s", (int)(at - text), text, to, at + strlen(from));
    return made;
}

static void quote(char *text) {
    for (; *text != '\0'; text++) {
        *text = *text == '\'' ? '"' : *text;
    }
}

static char mark_place;

/* Both calls refuse the bytes alike. */
static void spoilt(const char *json, size_t length, int32_t status, const char *field) {
    truebed_text *const mark = (truebed_text *)&mark_place;
    truebed_text *out = mark;
    REFUSED(truebed_run_job_json(json, length, &out), status, field);
    REFUSED(truebed_job_sheet(json, length, &out), status, field);
    CHECK(out == mark);
}

/* The job with its first `from` replaced is refused. */
static void spoilt_by(const char *from, const char *to, int32_t status, const char *field) {
    char *json = with(JOB, from, to);
    quote(json);
    spoilt(json, strlen(json), status, field);
    free(json);
}

static void runs(void) {
    char *json = copy(JOB, strlen(JOB));
    quote(json);
    truebed_text *done = NULL, *again = NULL, *sheet = NULL;
    CHECK(truebed_run_job_json(json, strlen(json), &done) == TRUEBED_OK);
    CHECK(strstr(truebed_text_data(done), "\"outcome\"") != NULL);
    CHECK(strlen(truebed_text_data(done)) == truebed_text_length(done));
    /* Run again, a finished job stays the same. */
    CHECK(truebed_run_job_json(truebed_text_data(done), truebed_text_length(done), &again)
          == TRUEBED_OK);
    CHECK(strcmp(truebed_text_data(done), truebed_text_data(again)) == 0);
    CHECK(truebed_job_sheet(json, strlen(json), &sheet) == TRUEBED_OK);
    CHECK(strstr(truebed_text_data(sheet), "raised leg or slab") != NULL);
    CHECK(truebed_text_data(sheet)[truebed_text_length(sheet)] == '\0');
    truebed_text_free(done);
    truebed_text_free(again);
    truebed_text_free(sheet);

    /* The bytes need no NUL behind them: valgrind sees a read too far. */
    char *exact = malloc(strlen(json));
    CHECK(exact != NULL);
    memcpy(exact, json, strlen(json));
    CHECK(truebed_run_job_json(exact, strlen(json), &done) == TRUEBED_OK);
    truebed_text_free(done);
    free(exact);

    /* Every shorter piece of it is refused. */
    for (size_t length = 0; length < strlen(json); length += 13) {
        spoilt(json, length, TRUEBED_BAD_DOCUMENT, "job");
    }
    spoilt(json, strlen(json) - 1, TRUEBED_BAD_DOCUMENT, "job");
    /* With a NUL as part of it, too. */
    spoilt(json, strlen(json) + 1, TRUEBED_BAD_DOCUMENT, "job");
    REFUSED(truebed_run_job_json(json, strlen(json), NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_job_sheet(json, strlen(json), NULL), TRUEBED_NULL_POINTER, "out");
    free(json);
    spoilt(NULL, 0, TRUEBED_BAD_DOCUMENT, "job");
    spoilt(NULL, 5, TRUEBED_NULL_POINTER, "json");
    spoilt(NULL, SIZE_MAX, TRUEBED_NULL_POINTER, "json");
    spoilt("{}", SIZE_MAX, TRUEBED_BAD_SHAPE, "json");
}

static int32_t at_once(void *context) {
    ++*(int *)context;
    return 1;
}

/* Capped and stopped, and what a crew reads written of the outcome without another run. */
static void runs_until(void) {
    char *json = copy(JOB, strlen(JOB));
    quote(json);
    const size_t length = strlen(json);
    truebed_text *done = NULL, *whole = NULL, *text = NULL, *other = NULL;
    CHECK(truebed_run_job_json(json, length, &whole) == TRUEBED_OK);
    CHECK(truebed_run_job_json_until(json, length, NULL, NULL, NULL, &done) == TRUEBED_OK);
    CHECK(strcmp(truebed_text_data(whole), truebed_text_data(done)) == 0);
    truebed_text_free(done);
    truebed_budget budget = {0};
    budget.struct_size = sizeof budget;
    CHECK(truebed_run_job_json_until(json, length, &budget, NULL, NULL, &done) == TRUEBED_OK);
    CHECK(strcmp(truebed_text_data(whole), truebed_text_data(done)) == 0);
    truebed_text_free(done);
    /* One node is too few, whatever the job allows. */
    budget.nodes = 1;
    CHECK(truebed_run_job_json_until(json, length, &budget, NULL, NULL, &done) == TRUEBED_OK);
    CHECK(strstr(truebed_text_data(whole), "\"status\": \"proven\"") != NULL);
    CHECK(strstr(truebed_text_data(done), "\"status\": \"budget\"") != NULL);
    truebed_text_free(done);
    /* A plan of so few legs is found before anybody asks; the verdict on it asks. */
    char *unsure = with(JOB, "'-1 mm'", "'-1 mm', 'sigma': '0.01 mm'");
    quote(unsure);
    int asked = 0;
    CHECK(truebed_run_job_json_until(unsure, strlen(unsure), NULL, at_once, &asked, &done)
          == TRUEBED_OK);
    CHECK(asked > 0 && strstr(truebed_text_data(done), "\"step\": \"verdict\"") != NULL);
    truebed_text_free(done);
    free(unsure);
    budget.struct_size = 3;
    done = NULL;
    REFUSED(truebed_run_job_json_until(json, length, &budget, NULL, NULL, &done),
            TRUEBED_STRUCT_SIZE, "budget.struct_size");
    REFUSED(truebed_run_job_json_until(json, length, NULL, NULL, NULL, NULL), TRUEBED_NULL_POINTER,
            "out");
    CHECK(done == NULL);

    const char *data = truebed_text_data(whole);
    const size_t bytes = truebed_text_length(whole);
    int32_t (*const calls[][2])(const char *, size_t, truebed_text **) = {
        {truebed_job_sheet, truebed_job_sheet_of_outcome},
        {truebed_job_picture, truebed_job_picture_of_outcome},
        {truebed_job_page, truebed_job_page_of_outcome},
    };
    for (size_t at = 0; at < sizeof calls / sizeof *calls; at++) {
        CHECK(calls[at][0](json, length, &text) == TRUEBED_OK);
        CHECK(calls[at][1](data, bytes, &other) == TRUEBED_OK);
        CHECK(strcmp(truebed_text_data(text), truebed_text_data(other)) == 0);
        truebed_text_free(text);
        truebed_text_free(other);
        REFUSED(calls[at][1](json, length, &text), TRUEBED_BAD_DOCUMENT, "outcome");
        REFUSED(calls[at][1](data, bytes, NULL), TRUEBED_NULL_POINTER, "out");
    }
    char again[] = "[{'kind': 'height', 'point': 'A', 'value': '0 mm'},"
                   " {'kind': 'height', 'point': 'B', 'value': '0 mm'},"
                   " {'kind': 'height', 'point': 'C', 'value': '0 mm'}]";
    quote(again);
    CHECK(truebed_job_next_pass(json, length, again, strlen(again), &text) == TRUEBED_OK);
    CHECK(truebed_job_next_pass_of_outcome(data, bytes, again, strlen(again), &other) == TRUEBED_OK);
    CHECK(strcmp(truebed_text_data(text), truebed_text_data(other)) == 0);
    truebed_text_free(text);
    truebed_text_free(other);
    REFUSED(truebed_job_next_pass_of_outcome(json, length, again, strlen(again), &text),
            TRUEBED_BAD_DOCUMENT, "outcome");
    truebed_text_free(whole);
    free(json);
}

static int32_t so_many(void *context, size_t done) {
    *(size_t *)context = done;
    return 0;
}

static int32_t none_at_all(void *context, size_t done) {
    (void)context;
    (void)done;
    return 1;
}

/* Many at once: in order, and one that is bad takes no other with it. */
static void runs_many(void) {
    enum { JOBS = 30 };
    char *json = copy(JOB, strlen(JOB));
    quote(json);
    const char *jsons[JOBS];
    size_t lengths[JOBS];
    for (size_t at = 0; at < JOBS; at++) {
        jsons[at] = at % 7 == 3 ? "{}" : at % 7 == 5 ? "\xff" : json;
        lengths[at] = strlen(jsons[at]);
    }
    truebed_text *alone = NULL;
    CHECK(truebed_run_job_json(json, strlen(json), &alone) == TRUEBED_OK);
    for (size_t threads = 0; threads < 4; threads++) {
        truebed_jobs *jobs = NULL;
        size_t done = 0;
        CHECK(truebed_run_jobs_json_until(threads, jsons, lengths, JOBS, NULL, so_many, &done, &jobs)
              == TRUEBED_OK);
        CHECK(done <= JOBS && truebed_jobs_count(jobs) == JOBS);
        for (size_t at = 0; at < JOBS; at++) {
            const truebed_text *text = NULL;
            if (at % 7 == 3) {
                REFUSED(truebed_jobs_get(jobs, at, &text), TRUEBED_BAD_DOCUMENT, "version");
            } else if (at % 7 == 5) {
                REFUSED(truebed_jobs_get(jobs, at, &text), TRUEBED_NOT_UTF8, "json");
            } else {
                CHECK(truebed_jobs_get(jobs, at, &text) == TRUEBED_OK);
                CHECK(strcmp(truebed_text_data(text), truebed_text_data(alone)) == 0);
            }
        }
        const truebed_text *text = NULL;
        REFUSED(truebed_jobs_get(jobs, JOBS, &text), TRUEBED_UNKNOWN, "at");
        REFUSED(truebed_jobs_get(jobs, 0, NULL), TRUEBED_NULL_POINTER, "out");
        REFUSED(truebed_jobs_get(NULL, 0, &text), TRUEBED_NULL_POINTER, "jobs");
        CHECK(text == NULL);
        truebed_jobs_free(jobs);
    }
    truebed_text_free(alone);
    truebed_jobs *jobs = NULL;
    CHECK(truebed_run_jobs_json_until(1, NULL, NULL, 0, NULL, none_at_all, NULL, &jobs) == TRUEBED_OK);
    CHECK(truebed_jobs_count(jobs) == 0 && truebed_jobs_count(NULL) == 0);
    truebed_jobs_free(jobs);
    truebed_jobs_free(NULL);
    REFUSED(truebed_run_jobs_json_until(1, NULL, lengths, 3, NULL, NULL, NULL, &jobs),
            TRUEBED_NULL_POINTER, "jsons");
    REFUSED(truebed_run_jobs_json_until(1, jsons, NULL, 3, NULL, NULL, NULL, &jobs),
            TRUEBED_NULL_POINTER, "lengths");
    REFUSED(truebed_run_jobs_json_until(1, jsons, lengths, 3, NULL, NULL, NULL, NULL),
            TRUEBED_NULL_POINTER, "out");
    free(json);
}

static void refuses(void) {
    spoilt_by("'version': 1", "'version': 2", TRUEBED_BAD_VERSION, "version");
    spoilt_by("'version': 1", "'version': '1'", TRUEBED_BAD_VERSION, "version");
    spoilt_by("'version': 1, ", "", TRUEBED_BAD_DOCUMENT, "version");
    spoilt("{}", 2, TRUEBED_BAD_DOCUMENT, "version");
    spoilt("[]", 2, TRUEBED_BAD_DOCUMENT, "job");
    spoilt_by("'test'", "7", TRUEBED_BAD_DOCUMENT, "title");
    spoilt_by("'1 mm'", "1", TRUEBED_BAD_DOCUMENT, "stock[0].thickness");
    spoilt_by("'1 mm'", "'1'", TRUEBED_BAD_DOCUMENT, "stock[0].thickness");
    spoilt_by("'1 mm'", "null", TRUEBED_BAD_DOCUMENT, "stock[0].thickness");
    spoilt_by("'1 mm'", "'0 mm'", TRUEBED_BAD_VALUE, "stock[0].thickness");
    spoilt_by("'count': 9", "'count': -1", TRUEBED_BAD_DOCUMENT, "stock[0].count");
    spoilt_by("'count': 9", "'count': 1e99", TRUEBED_BAD_DOCUMENT, "stock[0].count");
    spoilt_by("[{'thickness': '1 mm', 'count': 9}]", "{}", TRUEBED_BAD_DOCUMENT, "stock");
    spoilt_by("[{'thickness': '1 mm', 'count': 9}]", "[]", TRUEBED_BAD_SHAPE, "stock");
    spoilt_by("'title'", "'head'", TRUEBED_BAD_DOCUMENT, "head");
    spoilt_by("'id': 'B'", "'id': 'A'", TRUEBED_DUPLICATE, "points[1].id");
    spoilt_by("'y': '60 cm'", "'y': '0 mm'", TRUEBED_DUPLICATE, "points[2]");
    spoilt_by("'point': 'B'", "'point': 'D'", TRUEBED_UNKNOWN, "readings[1].point");
    spoilt_by("'overall'", "'line_width'", TRUEBED_BAD_VALUE, "legs.limits");
    spoilt_by("'x': '0 mm', 'y': '0 mm'", "'x': '1 m', 'y': '1.2 m'", TRUEBED_BAD_GEOMETRY, "points");
    const char *others[] = {"", " ", "null", "7", "\"version\"", "\xef\xbb\xbf", "\xef\xbb\xbf{",
                            "NaN", "{\"version\": 1", "{\"version\": 1}}", "[1, 2"};
    for (size_t at = 0; at < sizeof others / sizeof *others; at++) {
        spoilt(others[at], strlen(others[at]), TRUEBED_BAD_DOCUMENT, "job");
    }
    spoilt("{\"version\": 1, \"title\": \"\xff\"}", 26, TRUEBED_NOT_UTF8, "json");
    spoilt("{\"version\": 1, \"a\\u0000b\": 1}", 29, TRUEBED_BAD_DOCUMENT,
           "job[\"a\\0b\"]");
}

static void outlasts_junk(void) {
    const size_t size = 10 * 1024 * 1024;
    char *junk = malloc(size);
    CHECK(junk != NULL);
    const char fills[] = {'[', '{', '"', '9', ' ', 'x', '\\', '\0'};
    for (size_t at = 0; at < sizeof fills; at++) {
        memset(junk, fills[at], size);
        spoilt(junk, size, TRUEBED_BAD_DOCUMENT, "job");
    }
    uint32_t state = 1;
    for (size_t at = 0; at < size; at++) {
        state = state * 1664525u + 1013904223u;
        junk[at] = (char)(state >> 24);
    }
    spoilt(junk, size, TRUEBED_NOT_UTF8, "json");
    /* A document that is JSON throughout, with one string or one key of 10 MB. */
    const char head[] = "{\"version\": 1, \"title\": [\"", tail[] = "\"]}";
    memset(junk, 'x', size);
    memcpy(junk, head, sizeof head - 1);
    memcpy(junk + size - sizeof tail + 1, tail, sizeof tail - 1);
    spoilt(junk, size, TRUEBED_BAD_DOCUMENT, "title");
    const char key[] = "{\"version\": 1, \"", end[] = "\": 1}";
    memset(junk, 'x', size);
    memcpy(junk, key, sizeof key - 1);
    memcpy(junk + size - sizeof end + 1, end, sizeof end - 1);
    truebed_text *out = NULL;
    CHECK(truebed_run_job_json(junk, size, &out) == TRUEBED_BAD_DOCUMENT && out == NULL);
    CHECK(strlen(truebed_last_error()) < 1000);
    free(junk);

    /* Nested deeply where a job has something flat. */
    const size_t depth = 200000;
    char *nest = malloc(depth + 1);
    CHECK(nest != NULL);
    memset(nest, '[', depth);
    nest[depth] = '\0';
    char *json = with("{\"version\": 1, \"stock\": @}", "@", nest);
    spoilt(json, strlen(json), TRUEBED_BAD_DOCUMENT, "job");
    free(nest);
    free(json);
}

/* How sure it is that the job with its first `from` replaced is met, once it has been run; and
 * whether it is by its heights as they are. */
static int32_t conformity_with(const char *from, const char *to, int32_t is_met) {
    char *json = with(JOB, from, to);
    quote(json);
    truebed_text *done = NULL;
    int32_t met = -7;
    REFUSED(truebed_job_is_met(json, strlen(json), &met), TRUEBED_BAD_DOCUMENT, "outcome");
    CHECK(met == -7);
    CHECK(truebed_run_job_json(json, strlen(json), &done) == TRUEBED_OK);
    free(json);
    const char *data = truebed_text_data(done);
    const size_t length = truebed_text_length(done);
    CHECK(truebed_job_is_met(data, length, &met) == TRUEBED_OK && met == is_met);
    int32_t conformity = -7, other = -7;
    CHECK(truebed_job_conformity(data, length, &conformity) == TRUEBED_OK);
    REFUSED(truebed_job_conformity(data, length, NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_job_conformity(NULL, length, &other), TRUEBED_NULL_POINTER, "json");
    REFUSED(truebed_job_conformity(data, length / 2, &other), TRUEBED_BAD_DOCUMENT, "job");
    REFUSED(truebed_job_is_met(data, length, NULL), TRUEBED_NULL_POINTER, "met");
    REFUSED(truebed_job_is_met(NULL, length, &other), TRUEBED_NULL_POINTER, "json");
    REFUSED(truebed_job_is_met(data, length / 2, &other), TRUEBED_BAD_DOCUMENT, "job");
    /* An outcome that lacks a stage meets nothing. */
    char *less = copy(data, length);
    char *at = strstr(less, "\"outcome\"");
    CHECK(at != NULL);
    strcpy(at, "\"outcome\": {\"cautions\": []}}");
    CHECK(truebed_job_is_met(less, strlen(less), &other) == TRUEBED_OK && other == 0);
    CHECK(truebed_job_conformity(less, strlen(less), &other) == TRUEBED_OK);
    CHECK(other == TRUEBED_NOT_MET);
    free(less);
    truebed_text_free(done);
    return conformity;
}

static void conforms(void) {
    CHECK(conformity_with("'0.1 mm'", "'0.1 mm'", 1) == TRUEBED_MET);
    CHECK(conformity_with("'count': 9", "'count': 1", 0) == TRUEBED_NOT_MET);
    CHECK(conformity_with("'-1 mm'", "'-1 mm', 'sigma': '0.01 mm'", 1) == TRUEBED_MET);
    CHECK(conformity_with("'-1 mm'", "'-1 mm', 'sigma': '0.2 mm'", 1) == TRUEBED_CANNOT_TELL);
    CHECK(conformity_with("'-1 mm'", "'-1 mm', 'sigma': '9 mm'", 1) == TRUEBED_NOT_MET);
}

int main(void) {
    runs();
    runs_until();
    runs_many();
    conforms();
    refuses();
    outlasts_junk();
    return 0;
}
