/* find_register BAY MOST WORD...: how many rows are found, and in how many milliseconds from opening to closing. */
#include "register/find.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static enum status hear(void *context, const struct found_judgement *found)
{
    *(long *)context += found->judgement.serial[0] != '\0';
    return OK;
}

int main(int argc, char **argv)
{
    struct faults faults = {0};
    struct bay_register *book = NULL;
    struct register_answer answer;
    struct timespec begun, ended;
    long heard = 0;
    struct register_question question = {
        .words = (const char *const *)argv + 3, .count = (size_t)argc - 3, .most = (size_t)strtol(argv[2], NULL, 10)};
    (void)clock_gettime(CLOCK_MONOTONIC, &begun);
    enum status status = register_open(&(struct register_request){.bay = argv[1]}, &book, &faults);
    status = status == OK ? register_find(book, &question, (struct register_listener){&heard, hear}, &answer, &faults)
                          : status;
    register_close(book);
    (void)clock_gettime(CLOCK_MONOTONIC, &ended);
    if (status != OK) {
        (void)faults_print(&faults, stderr);
        return 1;
    }
    (void)printf("%ld %zu %.2f\n", heard, answer.all,
                 1e3 * (double)(ended.tv_sec - begun.tv_sec) + 1e-6 * (double)(ended.tv_nsec - begun.tv_nsec));
    return 0;
}
