/* A program of somebody else's, which knows the installed library only. */
#include <stdio.h>
#include <truebed.h>

int main(void) {
    double mm = 0;
    if (truebed_version_number() != TRUEBED_VERSION_NUMBER
        || truebed_length_parse_mm("1/4 in", &mm) != TRUEBED_OK) {
        return 1;
    }
    printf("%s %.2f\n", truebed_version(), mm);
    return 0;
}
