/* Versions, status texts, texts' handles and the last error. */
#include "check.h"

int main(void) {
    char version[40];
    snprintf(version, sizeof version, "%d.%d.%d", TRUEBED_VERSION_MAJOR, TRUEBED_VERSION_MINOR,
             TRUEBED_VERSION_PATCH);
    CHECK(strcmp(truebed_version(), version) == 0);
    CHECK(strstr(truebed_cautions(), "jacked frame") && truebed_cautions() == truebed_cautions());
    CHECK(truebed_version_number() == TRUEBED_VERSION_NUMBER);

    CHECK(strcmp(truebed_last_error(), "") == 0);
    for (int32_t status = -1000; status < 1000; status++) {
        CHECK(strlen(truebed_status_text(status)) > 5);
    }
    CHECK(strlen(truebed_status_text(INT32_MIN)) > 5 && strlen(truebed_status_text(INT32_MAX)) > 5);
    CHECK(strcmp(truebed_status_text(TRUEBED_OK), "no error") == 0);
    CHECK(strcmp(truebed_status_text(6), truebed_status_text(-6)) == 0);

    truebed_text_free(NULL);
    CHECK(truebed_text_data(NULL) == NULL && truebed_text_length(NULL) == 0);

    REFUSED(truebed_job_schema_json(NULL), TRUEBED_NULL_POINTER, "out");
    truebed_text *schema = NULL;
    CHECK(truebed_job_schema_json(&schema) == TRUEBED_OK);
    CHECK(truebed_text_data(schema)[0] == '{');
    CHECK(strlen(truebed_text_data(schema)) == truebed_text_length(schema));
    truebed_text_free(schema);
    /* A call that succeeds leaves the last error alone. */
    CHECK(strcmp(truebed_last_error(), "out: got NULL, expected a pointer") == 0);
    return 0;
}
