/* Levels a table: runs a job file, prints the work sheet, and on request keeps the finished job.
 *
 *     level_a_table [--json FILE] [JOB.json]
 *
 * Without a job file, or with -, the job is read from standard input. With --json the finished job,
 * that is, the job with its outcome, is written to FILE: to FILE.part first, which then takes the place
 * of FILE, so that FILE is the old one or the new one whatever happens, and never half of it.
 *
 * Exit codes, see usage() below: 0 all limits are met by the plan; 1 they are not, as the sheet says;
 * 2 wrong usage; 3 a file that cannot be read or an output that cannot be written; 4 the job is
 * refused; 5 the plan meets all limits on paper, but the readings do not make sure of it, as the sheet
 * says too. Standard error says why in the cases 2 to 4.
 *
 * Build: cc -std=c99 level_a_table.c -ltruebed -o level_a_table
 */
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "truebed.h"

enum { MET = 0, NOT_MET = 1, USAGE = 2, BROKEN = 3, REFUSED = 4, NOT_SURE = 5 };

static int usage(FILE *to, int code) {
    fputs("usage: level_a_table [--json FILE] [JOB.json]\n"
          "Prints the work sheet of a levelling job; --json writes the finished job to FILE.\n"
          "Without a job file, or with -, the job is read from standard input.\n"
          "exit codes: 0 all limits are met, 1 they are not, 2 wrong usage,\n"
          "            3 a file that cannot be read or written, 4 the job is refused,\n"
          "            5 all limits are met on paper, but the readings do not make sure of it\n",
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

/* Why the last call of the library failed. */
static int refused(const char *path, int32_t status) {
    fprintf(stderr, "%s: %s\n%s\n", path, truebed_status_text(status), truebed_last_error());
    return REFUSED;
}

static int broken(const char *path) {
    fprintf(stderr, "%s: %s\n", path, strerror(errno));
    return BROKEN;
}

static int print(const truebed_text *sheet) {
    const size_t length = truebed_text_length(sheet);
    const int done = fwrite(truebed_text_data(sheet), 1, length, stdout) == length;
    return done && fflush(stdout) == 0 ? MET : broken("standard output");
}

/* Writes a file as a whole; false when it cannot be, with the reason in errno. */
static int write_file(const truebed_text *job, const char *path) {
    const size_t length = truebed_text_length(job);
    FILE *file = fopen(path, "wb");
    if (file == NULL) {
        return 0;
    }
    const int done = fwrite(truebed_text_data(job), 1, length, file) == length
                     && putc('\n', file) != EOF && fflush(file) == 0;
    const int why = errno;
    const int closed = fclose(file) == 0;
    if (!done) {
        errno = why;
    }
    return done && closed;
}

static int keep(const truebed_text *job, const char *path) {
    static const char ending[] = ".part";
    char *part = malloc(strlen(path) + sizeof ending);
    if (part == NULL) {
        return broken(path);
    }
    strcpy(part, path);
    strcat(part, ending);
    /* rename() of POSIX puts the new file into the place of the old one in one step. */
    const int kept = write_file(job, part) && rename(part, path) == 0;
    const int why = errno;
    if (!kept) {
        remove(part);
        errno = why;
    }
    const int code = kept ? MET : broken(path);
    free(part);
    return code;
}

/* Runs the job: sheet to standard output, the finished job to a file where there is one. */
static int level(const char *path, const char *json, size_t length, const char *finished) {
    truebed_text *sheet = NULL, *job = NULL;
    int32_t met = 0, conformity = TRUEBED_CANNOT_TELL;
    int32_t status = truebed_run_job_json(json, length, &job);
    if (status == TRUEBED_OK) {
        status = truebed_job_is_met(truebed_text_data(job), truebed_text_length(job), &met);
    }
    if (status == TRUEBED_OK) {
        status = truebed_job_conformity(truebed_text_data(job), truebed_text_length(job), &conformity);
    }
    if (status == TRUEBED_OK) {
        status = truebed_job_sheet(json, length, &sheet);
    }
    int code = status == TRUEBED_OK ? print(sheet) : refused(path, status);
    if (code == MET && finished != NULL) {
        code = keep(job, finished);
    }
    if (code == MET && !met) {
        code = NOT_MET;
    }
    if (code == MET && conformity != TRUEBED_MET) {
        code = NOT_SURE;
    }
    truebed_text_free(sheet);
    truebed_text_free(job);
    return code;
}

int main(int count, char **arguments) {
    const char *finished = NULL, *path = NULL;
#ifdef SIGPIPE
    /* Where nobody reads the sheet any more, writing fails and says so, and does not kill. */
    signal(SIGPIPE, SIG_IGN);
#endif
    for (int at = 1; at < count; at++) {
        if (strcmp(arguments[at], "--help") == 0) {
            return usage(stdout, MET);
        }
        if (strcmp(arguments[at], "--json") == 0 && finished == NULL && at + 1 < count) {
            finished = arguments[++at];
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
        return broken(path);
    }
    const int code = level(path, json, length, finished);
    free(json);
    return code;
}
