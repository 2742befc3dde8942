/* make_register BAY COUNT: a register of so many judgements of 300 a day, of 40 models and orders of 25 units, of which
 * a tenth fails and one in fifty is tested again; added by the library as a batch adds them. */
#include "register/register.h"

#include "base/files.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int trouble(const struct faults *faults)
{
    (void)faults_print(faults, stderr);
    return 1;
}

static enum status add(struct bay_register *book, long i, struct faults *faults)
{
    char serial[32], model[32], order[32], tested[32], log[65], document[128];
    long long id = 0, unit = i % 50 == 49 ? i - 25 : i, day = i / 300;
    (void)snprintf(serial, sizeof serial, "SN-%07lld", unit);
    (void)snprintf(model, sizeof model, "M-%02lld", unit * 7919 % 40);
    (void)snprintf(order, sizeof order, "O-%05lld", unit / 25);
    (void)snprintf(tested, sizeof tested, "%04lld-%02lld-%02lldT%02ld:%02ld:00", 2010 + day / 336, 1 + day % 336 / 28,
                   1 + day % 28, 8 + i % 300 / 30, i % 30 * 2);
    int length = snprintf(document, sizeof document, "log %ld", i);
    sha256_hex(document, (size_t)length, log);
    length = snprintf(document, sizeof document, "{\"document\": %ld}\n",
                      i % 100); /* find reads none: few, for the disk's sake */
    struct judgement_order made = {.judgement = {.at = "2026-01-01T00:00:00Z",
                                                 .who = "bench@bench",
                                                 .serial = serial,
                                                 .model = model,
                                                 .order = order,
                                                 .tested = tested,
                                                 .log = "logs/bench.csv",
                                                 .log_sha256 = log,
                                                 .program = "0.1.0",
                                                 .verdict = i % 10 == 3 ? "fail" : "pass",
                                                 .figures = "{\"margin\": 0.5}",
                                                 .revision = 1},
                                   .document = document,
                                   .document_length = (size_t)length};
    enum status status = register_add(book, &made, &id, faults);
    struct judgement_papers papers = {.judgement = id, .folder = serial, .files = "-  sheet.txt\n"};
    return status == OK ? register_add_papers(book, &papers, faults) : status;
}

int main(int argc, char **argv)
{
    struct bay_register *book = NULL;
    struct faults faults = {0};
    enum { GROUP = 5000 };
    long count = argc == 3 ? strtol(argv[2], NULL, 10) : 0;
    if (count < 1 || register_open(&(struct register_request){.bay = argv[1], .write = true}, &book, &faults) != OK) {
        return trouble(&faults);
    }
    for (long i = 0; i < count; i++) {
        if ((i % GROUP == 0 && register_begin(book, &faults) != OK) || add(book, i, &faults) != OK ||
            ((i % GROUP == GROUP - 1 || i == count - 1) && register_commit(book, &faults) != OK)) {
            register_close(book);
            return trouble(&faults);
        }
    }
    register_close(book);
    return 0;
}
