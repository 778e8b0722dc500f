/* Levels a table: runs a job file and prints the work sheet.
 *
 *     level_a_table [--json] [JOB.json]
 *
 * Without a file, or with -, the job is read from standard input. With --json the finished job
 * document is printed instead of the sheet.
 *
 * Exit codes: 0 printed; 1 the job is refused, standard error says why; 2 wrong usage; 3 a file
 * that cannot be read or an output that cannot be written. Whether the plan meets the limits is
 * told by the sheet and the document, not by the exit code.
 *
 * Build: cc -std=c99 level_a_table.c -ltruebed -o level_a_table
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "truebed.h"

enum { PRINTED = 0, REFUSED = 1, USAGE = 2, BROKEN = 3 };

static int usage(FILE *to, int code) {
    fputs("usage: level_a_table [--json] [JOB.json]\n"
          "Prints the work sheet of a levelling job, or with --json the finished job.\n"
          "Without a file, or with -, the job is read from standard input.\n",
          to);
    return code;
}

/* All of a stream; NULL when it cannot be read. The caller frees it. */
static char *read_all(FILE *file, size_t *length) {
    char *text = NULL;
    size_t capacity = 0;
    *length = 0;
    do {
        capacity = capacity == 0 ? 65536 : 2 * capacity;
        char *larger = realloc(text, capacity);
        if (larger == NULL) {
            free(text);
            return NULL;
        }
        text = larger;
        *length += fread(text + *length, 1, capacity - *length, file);
    } while (*length == capacity);
    if (ferror(file)) {
        free(text);
        return NULL;
    }
    return text;
}

static char *read_job(const char *path, size_t *length) {
    if (strcmp(path, "-") == 0) {
        return read_all(stdin, length);
    }
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return NULL;
    }
    char *json = read_all(file, length);
    fclose(file);
    return json;
}

static int print(const truebed_text *text, int newline) {
    const size_t length = truebed_text_length(text);
    if (fwrite(truebed_text_data(text), 1, length, stdout) != length
        || (newline && putchar('\n') == EOF) || fflush(stdout) != 0) {
        fprintf(stderr, "standard output: %s\n", strerror(errno));
        return BROKEN;
    }
    return PRINTED;
}

int main(int count, char **arguments) {
    int as_json = 0;
    const char *path = NULL;
    for (int at = 1; at < count; at++) {
        if (strcmp(arguments[at], "--help") == 0) {
            return usage(stdout, PRINTED);
        }
        if (strcmp(arguments[at], "--json") == 0) {
            as_json = 1;
        } else if (path != NULL || (arguments[at][0] == '-' && arguments[at][1] != '\0')) {
            return usage(stderr, USAGE);
        } else {
            path = arguments[at];
        }
    }
    if (path == NULL) {
        path = "-";
    }
    size_t length = 0;
    char *json = read_job(path, &length);
    if (json == NULL) {
        fprintf(stderr, "%s: %s\n", path, strerror(errno));
        return BROKEN;
    }
    truebed_text *text = NULL;
    const int32_t status = as_json ? truebed_run_job_json(json, length, &text)
                                   : truebed_job_sheet(json, length, &text);
    free(json);
    if (status != TRUEBED_OK) {
        fprintf(stderr, "%s: %s\n%s\n", path, truebed_status_text(status), truebed_last_error());
        return REFUSED;
    }
    const int code = print(text, as_json);
    truebed_text_free(text);
    return code;
}
