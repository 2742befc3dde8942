/* fixture_result.h - a finished result made by hand, for the tests of what is rendered
 *
 * The set is invented: 12 stages, about 25 m3/h at 60 m, with the curve shapes that such sets have.
 */
#ifndef FIXTURE_RESULT_H
#define FIXTURE_RESULT_H

#include "run/result.h"

enum { FIXTURE_POINTS_MAX = 24, FIXTURE_DUTIES_MAX = 12, FIXTURE_INSTRUMENTS = 9 };

struct fixture_shape {
    size_t points, duties, notes;
    bool no_power;    /* input power was not measured */
    bool pump;        /* shaft power is known */
    bool falls_short; /* the guarantee is set too high: it fails */
    bool overdue;
    bool single_phase;
    enum grade_geometry geometry;
    const char *text; /* serial, model, names, notes: everything that an input can say; NULL for plain ones */
};

struct fixture {
    struct arena arena;
    struct bay bay;
    struct model model;
    struct grade grade;
    struct instrument instruments[FIXTURE_INSTRUMENTS];
    struct duty duties[FIXTURE_DUTIES_MAX];
    struct settled_point settled[FIXTURE_POINTS_MAX];
    struct point points[FIXTURE_POINTS_MAX];
    struct duty_result duty_results[FIXTURE_DUTIES_MAX];
    struct duty_certainty certainties[FIXTURE_DUTIES_MAX];
    struct result result;
};

void fixture_init(struct fixture *fixture, const struct fixture_shape *shape);
void fixture_release(struct fixture *fixture);

#endif
