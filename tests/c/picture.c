/* truebed_plan_picture, truebed_tradeoff_picture and truebed_job_picture */
#include "check.h"

static char mark_place;

static int has(const truebed_text *text, const char *words) {
    CHECK(strlen(truebed_text_data(text)) == truebed_text_length(text));
    return strstr(truebed_text_data(text), words) != NULL;
}

static void plans(void) {
    const truebed_support supports[] = {{0, 0, 0}, {1000, 0, -1.3}, {0, 500, -2.35}};
    const truebed_shim stock[] = {
        {.thickness_mm = 1, .count = 9}, {.thickness_mm = 0.25, .count = 9}, {.thickness_mm = 0.05, .count = 9}};
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = 0.25;
    truebed_problem problem = {0};
    problem.struct_size = sizeof problem;
    problem.supports = supports;
    problem.support_count = 3;
    problem.stock = stock;
    problem.stock_count = 3;
    problem.limits = &limits;

    truebed_plan *plan = NULL;
    truebed_text *svg = NULL, *again = NULL;
    CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK);
    CHECK(truebed_plan_picture(&problem, plan, TRUEBED_UNITS_METRIC, &svg) == TRUEBED_OK);
    CHECK(truebed_plan_picture(&problem, plan, TRUEBED_UNITS_METRIC, &again) == TRUEBED_OK);
    CHECK(has(svg, "<svg ") && has(svg, "raised leg or slab") && !has(svg, "<script"));
    CHECK(strcmp(truebed_text_data(svg), truebed_text_data(again)) == 0);
    truebed_text_free(svg);
    truebed_text_free(again);
    CHECK(truebed_plan_picture(&problem, plan, TRUEBED_UNITS_INCH, &svg) == TRUEBED_OK);
    CHECK(has(svg, "0.0394 in (1 mm)"));
    truebed_text_free(svg);
    CHECK(truebed_plan_picture_narrow(&problem, plan, TRUEBED_UNITS_INCH, &svg) == TRUEBED_OK);
    CHECK(has(svg, "width=\"380\"") && has(svg, "raised leg or slab"));
    truebed_text_free(svg);

    /* Names of kinds are shown wherever a piece is. */
    const char *names[] = {"oak leaf", NULL, "<b>"};
    problem.stock_names = names;
    CHECK(truebed_plan_picture(&problem, plan, TRUEBED_UNITS_METRIC, &svg) == TRUEBED_OK);
    CHECK(has(svg, "oak leaf") && !has(svg, "<b>"));
    truebed_text_free(svg);
    names[1] = "a\xff";
    REFUSED(truebed_plan_picture(&problem, plan, 0, &svg), TRUEBED_NOT_UTF8, "stock_names[1]");
    names[1] = "";
    truebed_plan *named = NULL;
    CHECK(truebed_plan_shims(&problem, &named) == TRUEBED_OK);
    truebed_plan_free(named);
    problem.stock_names = NULL;

    truebed_text *const mark = (truebed_text *)&mark_place;
    svg = mark;
    REFUSED(truebed_plan_picture(&problem, plan, 3, &svg), TRUEBED_BAD_VALUE, "units");
    REFUSED(truebed_plan_picture_narrow(&problem, plan, 3, &svg), TRUEBED_BAD_VALUE, "units");
    REFUSED(truebed_plan_picture(&problem, plan, -1, &svg), TRUEBED_BAD_VALUE, "units");
    REFUSED(truebed_plan_picture(NULL, plan, 0, &svg), TRUEBED_NULL_POINTER, "problem");
    REFUSED(truebed_plan_picture(&problem, NULL, 0, &svg), TRUEBED_NULL_POINTER, "plan");
    REFUSED(truebed_plan_picture(&problem, plan, 0, NULL), TRUEBED_NULL_POINTER, "out");
    problem.support_count = 2;
    REFUSED(truebed_plan_picture(&problem, plan, 0, &svg), TRUEBED_BAD_SHAPE, "plan");
    problem.support_count = 3;
    truebed_plan_free(plan);

    truebed_plans *front = NULL;
    CHECK(truebed_tradeoff(&problem, &front) == TRUEBED_OK);
    REFUSED(truebed_tradeoff_picture(front, 9, &svg), TRUEBED_BAD_VALUE, "units");
    REFUSED(truebed_tradeoff_picture(NULL, 0, &svg), TRUEBED_NULL_POINTER, "plans");
    REFUSED(truebed_tradeoff_picture(front, 0, NULL), TRUEBED_NULL_POINTER, "out");
    CHECK(svg == mark);
    CHECK(truebed_tradeoff_picture(front, TRUEBED_UNITS_BOTH, &svg) == TRUEBED_OK);
    CHECK(has(svg, "pieces") && has(svg, "</svg>"));
    truebed_text_free(svg);
    CHECK(truebed_tradeoff_picture_narrow(front, TRUEBED_UNITS_BOTH, &svg) == TRUEBED_OK);
    CHECK(has(svg, "width=\"380\"") && has(svg, "pieces"));
    truebed_text_free(svg);
    CHECK(truebed_tradeoff_picture_predicted_narrow(&problem, front, 0, &svg) == TRUEBED_OK);
    CHECK(has(svg, "width=\"380\""));
    truebed_text_free(svg);
    svg = mark;
    REFUSED(truebed_tradeoff_picture_narrow(front, 9, &svg), TRUEBED_BAD_VALUE, "units");
    CHECK(svg == mark);
    truebed_plans_free(front);
}

static void jobs(void) {
    static const char JOB[] =
        "{\"version\": 1, \"title\": \"a <b> & c\", \"units\": \"metric\","
        " \"stock\": [{\"thickness\": \"1 mm\", \"count\": 9}],"
        " \"points\": [{\"id\": \"A\", \"x\": \"0 mm\", \"y\": \"0 mm\", \"role\": \"leg\"},"
        " {\"id\": \"B\", \"x\": \"1 m\", \"y\": \"0 mm\", \"role\": \"leg\"},"
        " {\"id\": \"C\", \"x\": \"1 m\", \"y\": \"60 cm\", \"role\": \"leg\"}],"
        " \"readings\": [{\"kind\": \"height\", \"point\": \"A\", \"value\": \"0 mm\"},"
        " {\"kind\": \"height\", \"point\": \"B\", \"value\": \"-1 mm\"},"
        " {\"kind\": \"height\", \"point\": \"C\", \"value\": \"-2 mm\"}],"
        " \"legs\": {\"limits\": {\"overall\": \"0.1 mm\"}}}";
    truebed_text *svg = NULL;
    CHECK(truebed_job_picture(JOB, strlen(JOB), &svg) == TRUEBED_OK);
    CHECK(has(svg, "a &lt;b&gt; &amp; c") && has(svg, "2 \xc3\x97 1 mm"));
    truebed_text_free(svg);
    CHECK(truebed_job_picture_narrow(JOB, strlen(JOB), &svg) == TRUEBED_OK);
    CHECK(has(svg, "width=\"380\"") && has(svg, "2\xc2\xa0\xc3\x97\xc2\xa0" "1\xc2\xa0mm"));
    truebed_text_free(svg);
    svg = NULL;
    REFUSED(truebed_job_picture("{}", 2, &svg), TRUEBED_BAD_DOCUMENT, "version");
    REFUSED(truebed_job_picture(JOB, strlen(JOB), NULL), TRUEBED_NULL_POINTER, "out");
    CHECK(svg == NULL);
}

static void nothing(void) {
    truebed_text *out = NULL;
    REFUSED(truebed_heights_picture(NULL, &out), TRUEBED_NULL_POINTER, "heights");
    REFUSED(truebed_heights_picture(NULL, NULL), TRUEBED_NULL_POINTER, "out");
    CHECK(out == NULL);
}

/* Readings are named by what they read. */
static void surveys(void) {
    truebed_survey *survey = NULL;
    truebed_heights *heights = NULL;
    truebed_text *svg = NULL;
    CHECK(truebed_survey_new(&survey) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "A", "B", 1, 0.01) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "A", "B", 25.4, 0.01) == TRUEBED_OK);
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    CHECK(truebed_heights_picture(heights, &svg) == TRUEBED_OK);
    CHECK(has(svg, "rise, 25.400\xc2\xa0mm (1.0000\xc2\xa0in)"));
    truebed_text_free(svg);
    CHECK(truebed_heights_picture_in(heights, TRUEBED_UNITS_INCH, &svg) == TRUEBED_OK);
    CHECK(has(svg, "rise, 1.0000\xc2\xa0in") && !has(svg, "25.4"));
    truebed_text_free(svg);
    CHECK(truebed_heights_picture_narrow(heights, TRUEBED_UNITS_METRIC, &svg) == TRUEBED_OK);
    CHECK(has(svg, "width=\"380\""));
    truebed_text_free(svg);
    svg = NULL;
    REFUSED(truebed_heights_picture_in(heights, 3, &svg), TRUEBED_BAD_VALUE, "units");
    CHECK(svg == NULL);
    truebed_heights_free(heights);
    truebed_survey_free(survey);
}

int main(void) {
    nothing();
    surveys();
    plans();
    jobs();
    return 0;
}
