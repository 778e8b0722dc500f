/* Runs the shared vectors:
 *
 *     vectors good JOB DONE [JOB DONE]...    each job gives just the text in the second file
 *     vectors bad JOB ERROR [JOB ERROR]...   each job is refused with the status number in the
 *                                            first line of the second file and the last error in
 *                                            the rest
 *
 * One newline at the end of a second file is the file's own and not part of the text. */
#include "check.h"

typedef struct bytes {
    char *data;
    size_t length;
} bytes;

/* A whole file, with a NUL behind it. */
static bytes read(const char *path) {
    bytes made = {NULL, 0};
    FILE *file = fopen(path, "rb");
    CHECK(file != NULL);
    CHECK(fseek(file, 0, SEEK_END) == 0);
    const long size = ftell(file);
    CHECK(size >= 0);
    rewind(file);
    made.data = malloc((size_t)size + 1);
    CHECK(made.data != NULL);
    made.length = fread(made.data, 1, (size_t)size, file);
    CHECK(made.length == (size_t)size);
    made.data[made.length] = '\0';
    fclose(file);
    return made;
}

static int same(const char *name, const char *got, size_t length, bytes expected) {
    if (expected.length > 0 && expected.data[expected.length - 1] == '\n') {
        expected.length--;
    }
    if (length == expected.length && memcmp(got, expected.data, length) == 0) {
        return 1;
    }
    printf("%s: got\n%.*s\n", name, (int)length, got);
    return 0;
}

static int good(const char *name, bytes job, bytes expected) {
    truebed_text *done = NULL;
    if (truebed_run_job_json(job.data, job.length, &done) != TRUEBED_OK) {
        printf("%s: refused: %s\n", name, truebed_last_error());
        return 0;
    }
    const int passed = same(name, truebed_text_data(done), truebed_text_length(done), expected);
    truebed_text_free(done);
    return passed;
}

static int bad(const char *name, bytes job, bytes expected) {
    char *rest = NULL;
    const long status = strtol(expected.data, &rest, 10);
    CHECK(rest != expected.data && *rest == '\n');
    rest++;
    const bytes text = {rest, expected.length - (size_t)(rest - expected.data)};
    truebed_text *done = NULL;
    const int32_t got = truebed_run_job_json(job.data, job.length, &done);
    if (got != status || done != NULL) {
        printf("%s: got status %d, expected %ld\n", name, (int)got, status);
        truebed_text_free(done);
        return 0;
    }
    return same(name, truebed_last_error(), strlen(truebed_last_error()), text);
}

int main(int count, char **arguments) {
    CHECK(count >= 2 && count % 2 == 0);
    const int is_good = strcmp(arguments[1], "good") == 0;
    CHECK(is_good || strcmp(arguments[1], "bad") == 0);
    int failed = 0;
    for (int at = 2; at < count; at += 2) {
        const bytes job = read(arguments[at]), expected = read(arguments[at + 1]);
        failed += !(is_good ? good : bad)(arguments[at], job, expected);
        free(job.data);
        free(expected.data);
    }
    return failed > 0;
}
