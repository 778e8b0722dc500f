/* Runs jobs on a thread with a small stack: `stack KILOBYTES FILE ...`. */
#include <pthread.h>

#include "check.h"

static int count;
static char **files;

static void run(const char *json) {
    const size_t length = strlen(json);
    truebed_text *text = NULL;
    int32_t (*const calls[])(const char *, size_t, truebed_text **) = {
        truebed_run_job_json, truebed_job_sheet, truebed_job_picture};
    for (size_t at = 0; at < sizeof calls / sizeof *calls; at++) {
        /* Bad documents are refused, on this stack as on any other. */
        if (calls[at](json, length, &text) == TRUEBED_OK) {
            CHECK(truebed_text_length(text) > 0);
            truebed_text_free(text);
        }
    }
}

static void *work(void *unused) {
    for (int at = 0; at < count; at++) {
        FILE *file = fopen(files[at], "rb");
        CHECK(file != NULL);
        char *json = calloc(1, 1 << 20);
        CHECK(json != NULL);
        CHECK(fread(json, 1, (1 << 20) - 1, file) < (1 << 20) - 1 && ferror(file) == 0);
        fclose(file);
        run(json);
        free(json);
    }
    /* Nested as deep as it goes. */
    enum { DEEP = 100000 };
    char *json = calloc(1, 2 * DEEP + 100);
    CHECK(json != NULL);
    const char *const fronts[] = {"{\"version\":1,\"points\":", "{\"version\":1,\"none\":", "{\"version\":"};
    for (size_t front = 0; front < sizeof fronts / sizeof *fronts; front++) {
        for (int deep = 100; deep <= DEEP; deep *= 10) {
            strcpy(json, fronts[front]);
            memset(json + strlen(json), '[', (size_t)deep);
            json[strlen(fronts[front]) + (size_t)deep] = 0;
            run(json);
        }
    }
    free(json);
    return unused;
}

int main(int argument_count, char **arguments) {
    CHECK(argument_count > 1);
    count = argument_count - 2;
    files = arguments + 2;
    pthread_attr_t attributes;
    pthread_t thread;
    CHECK(pthread_attr_init(&attributes) == 0);
    CHECK(pthread_attr_setstacksize(&attributes, (size_t)atoi(arguments[1]) * 1024) == 0);
    CHECK(pthread_create(&thread, &attributes, work, NULL) == 0);
    CHECK(pthread_join(thread, NULL) == 0);
    return 0;
}
