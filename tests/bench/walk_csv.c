/* The floor that the benchmark is measured against: libcsv alone walks the file, with callbacks that do nothing. */
#include <csv.h>
#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

static void cell(void *text, size_t length, void *context)
{
    (void)text;
    (void)length;
    (void)context;
}

static void row_end(int terminator, void *context)
{
    (void)terminator;
    (void)context;
}

int main(int argc, char **argv)
{
    static char buffer[256 * 1024]; /* as large as the log reader's, so that both read alike */
    struct csv_parser parser;
    int fd = argc > 1 ? open(argv[1], O_RDONLY) : -1;
    if (fd < 0 || csv_init(&parser, 0) != 0) {
        fprintf(stderr, "walk_csv: cannot read the record\n");
        return 2;
    }
    ssize_t got;
    while ((got = read(fd, buffer, sizeof buffer)) > 0) {
        if (csv_parse(&parser, buffer, (size_t)got, cell, row_end, NULL) != (size_t)got) {
            return 2;
        }
    }
    csv_fini(&parser, cell, row_end, NULL);
    csv_free(&parser);
    return got < 0 ? 2 : 0;
}
