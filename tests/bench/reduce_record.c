/* The work that is measured: read a record and print the statistics of its points, as reduce_record.py prints them; the
 * peak memory goes to stderr. */
#include "settle/settle.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void print_points(const struct log *log, const struct settled *settled)
{
    printf("sha256 %s\n", log->sha256);
    for (size_t i = 0; i < settled->count; i++) {
        const struct settled_point *point = &settled->points[i];
        for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
            const struct channel_stats *stats = &point->channels[channel];
            if (stats->n > 0) {
                printf("%d,%s,%zu,%.9g,%.9g,%.9g,%.9g,%.9g\n", point->number, channel_info((enum channel)channel)->name,
                       stats->n, stats->mean, stats->deviation, stats->low, stats->high, stats->standard_error);
            }
        }
    }
}

/* The most memory that this program held. ru_maxrss would count that of the process which started it as well. */
static long peak_kib(void)
{
    static const char key[] = "VmHWM:";
    char line[256];
    long kib = 0;
    FILE *status = fopen("/proc/self/status", "r");
    while (status != NULL && fgets(line, sizeof line, status) != NULL) {
        kib = strncmp(line, key, strlen(key)) == 0 ? strtol(line + strlen(key), NULL, 10) : kib;
    }
    return status != NULL && fclose(status) == 0 ? kib : 0;
}

int main(int argc, char **argv)
{
    struct arena arena = {0};
    struct log log;
    struct notes notes = {0};
    static struct faults faults;
    const struct settle_rule rule = {0};
    struct settled settled;
    struct settler *settler = settle_new(&rule, &arena);
    if (argc < 2 || settler == NULL) {
        return 2;
    }
    enum status status =
        log_read(argv[1], NULL, (struct log_sink){settler, settle_take}, &arena, &log, &notes, &faults);
    if (status == OK) {
        status = settle_finish(settler, &log, &settled, &notes, &faults);
    }
    if (status == OK) {
        print_points(&log, &settled);
    }
    faults_print(&faults, stderr);
    settle_release(settler);
    arena_release(&arena);
    fprintf(stderr, "peak_kib %ld\n", peak_kib());
    return status == OK ? 0 : 2;
}
