/* Runs every suite of tests/unit: suites.h is made by the Makefile from the names of the test_NAME.c files. */
#include "papers/press.h"

#include <check.h>
#include <gsl/gsl_errno.h>
#include <stdlib.h>

#define SUITE(name) Suite *name##_suite(void);
#include "suites.h"
#undef SUITE

/* A test that hangs is ended, one on a busy machine is not: how fast it is, is for make bench to say. */
#define PATIENCE "30"

int main(void)
{
    if (setenv("CK_TIMEOUT_MULTIPLIER", PATIENCE, 0) != 0) {
        return EXIT_FAILURE;
    }
    gsl_set_error_handler_off();
    SRunner *runner = srunner_create(NULL);
#define SUITE(name) srunner_add_suite(runner, name##_suite());
#include "suites.h"
#undef SUITE
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    press_end(); /* what the PDF libraries keep is no leak */
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
