/* truebed_length_parse_mm */
#include "check.h"

int main(void) {
    double mm = 7.0;
    CHECK(truebed_length_parse_mm("0.010 in", &mm) == TRUEBED_OK && mm == 0.254);
    CHECK(truebed_length_parse_mm("1/64 in", &mm) == TRUEBED_OK && mm == 0.396875);
    CHECK(truebed_length_parse_mm(" -40 \xc2\xb5m ", &mm) == TRUEBED_OK && mm == -0.04);

    mm = 7.0;
    REFUSED(truebed_length_parse_mm(NULL, &mm), TRUEBED_NULL_POINTER, "text");
    REFUSED(truebed_length_parse_mm("1 mm", NULL), TRUEBED_NULL_POINTER, "mm");
    REFUSED(truebed_length_parse_mm("1 \xb5m", &mm), TRUEBED_NOT_UTF8, "text");
    const char *bad[] = {"", "10", "mm", "nan mm", "1e99 mm", "1001 km", "1/0 in", "%s%n mm"};
    for (size_t at = 0; at < sizeof bad / sizeof *bad; at++) {
        REFUSED(truebed_length_parse_mm(bad[at], &mm), TRUEBED_BAD_LENGTH, "length");
    }
    const size_t size = 10 * 1024 * 1024;
    char *junk = malloc(size + 1);
    CHECK(junk != NULL);
    memset(junk, '9', size);
    junk[size] = '\0';
    REFUSED(truebed_length_parse_mm(junk, &mm), TRUEBED_BAD_LENGTH, "length");
    free(junk);
    CHECK(mm == 7.0);
    return 0;
}
