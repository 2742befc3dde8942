/* The distribution of a sum of rectangular and normal errors against closed forms of the textbooks. */
#include "certainty/spread.h"
#include "near.h"

/* Bisection to 2^-40 of the bracket, about 1e-11 of it. */
static const double resolution = 1e-9;

START_TEST(no_error)
{
    struct spread spread = {0};
    near_abs(spread_expanded(&spread), 0.0, 0.0);
    near_abs(spread_deviation(&spread), 0.0, 0.0);
    near_abs(spread_probability(&spread, 0.1), 1.0, 0.0);
    near_abs(spread_probability(&spread, -0.1), 0.0, 0.0);
}
END_TEST

/* Only the two widest rectangles are kept as they are; the variance of the third, a^2 / 3, is kept whichever comes
 * last. */
START_TEST(third_rectangle)
{
    static const double orders[][3] = {{3.0, 2.0, 1.0}, {1.0, 2.0, 3.0}, {2.0, 3.0, 1.0}};
    for (size_t i = 0; i < sizeof orders / sizeof orders[0]; i++) {
        struct spread spread = {0};
        for (size_t k = 0; k < 3; k++) {
            spread_add_rectangular(&spread, orders[i][k]);
        }
        near_abs(spread_deviation(&spread), sqrt((9.0 + 4.0 + 1.0) / 3.0), 1e-12); /* rounding */
        near_abs(spread.wide + spread.narrow, 5.0, 0.0);
        near_abs(spread.variance, 1.0 / 3.0, 1e-15);
    }
}
END_TEST

/* A rectangle of half-width a: 95 % of it is 0.95 a, its deviation a / sqrt(3) (JCGM 100:2008, 4.3.7). */
START_TEST(one_rectangle)
{
    struct spread spread = {0};
    spread_add_rectangular(&spread, 0.73);
    near_abs(spread_expanded(&spread), 0.95 * 0.73, resolution);
    near_abs(spread_deviation(&spread), 0.73 / sqrt(3.0), resolution);
    near_abs(spread_probability(&spread, 0.73 / 2), 0.75, resolution);
}
END_TEST

/* Two equal rectangles make a triangle of half-base 2a: 95 % lies within 2a (1 - sqrt(0.05)). The closed form needs a
 * trace of a normal part, 1e-6 of the width. */
START_TEST(triangle)
{
    struct spread spread = {0};
    spread_add_rectangular(&spread, 1.1);
    spread_add_rectangular(&spread, 1.1);
    near_abs(spread_expanded(&spread), 2.2 * (1.0 - sqrt(0.05)), 1e-4);
}
END_TEST

/* Two rectangles 1 and 0.5 make a trapezium: beyond x its tail is (1.5 - x)^2 / (8 * 1 * 0.5) on either side. */
START_TEST(trapezium)
{
    struct spread spread = {0};
    spread_add_rectangular(&spread, 0.5);
    spread_add_rectangular(&spread, 1.0);
    near_abs(spread_expanded(&spread), 1.5 - sqrt(0.025 * 4.0), 1e-4);
    near_abs(spread_probability(&spread, 1.2), 1.0 - 0.3 * 0.3 / 4.0, 1e-4);
}
END_TEST

/* Normal deviates add in quadrature; 1.959964 is the two-sided 95 % point (any table of the normal distribution). */
START_TEST(normal)
{
    struct spread spread = {0};
    spread_add_normal(&spread, 3.0, INFINITY);
    spread_add_normal(&spread, 4.0, INFINITY);
    near_abs(spread_expanded(&spread), 5.0 * 1.959963985, 1e-7);
}
END_TEST

/* Two-sided 95 % points of Student's t: 4.303 for 2 and 2.228 for 10 degrees of freedom (standard tables, 3 decimals).
 */
START_TEST(student)
{
    struct spread two = {0}, ten = {0};
    spread_add_normal(&two, 1.0, 2.0);
    spread_add_normal(&ten, 2.0, 10.0);
    near_abs(spread_expanded(&two), 4.303, 0.0005);
    near_abs(spread_expanded(&ten), 2.0 * 2.228, 2 * 0.0005);
}
END_TEST

/* A rectangle and a normal of the same deviation: the tail by Simpson integration of the normal over the rectangle. */
START_TEST(rectangle_and_normal)
{
    enum { STEPS = 2000 };
    double b = sqrt(3.0), x = 2.1, sum = 0.0;
    for (int i = 0; i <= STEPS; i++) {
        double weight = i == 0 || i == STEPS ? 1.0 : (i % 2 == 1 ? 4.0 : 2.0);
        double r = -b + 2.0 * b * i / STEPS;
        sum += weight * 0.5 * erfc(-(x - r) / sqrt(2.0));
    }
    struct spread spread = {0};
    spread_add_rectangular(&spread, b);
    spread_add_normal(&spread, 1.0, INFINITY);
    near_abs(spread_probability(&spread, x), sum / 3.0 / STEPS, 1e-10);
}
END_TEST

/* JCGM 101:2008, 9.2, additive model Y = X1 + X2 + X3 + X4, as published: four normal deviates of deviation 1 give
 * +/-3.92 (9.2.2); four rectangular ones +/-2 sqrt(3) (2 - (3/5)^(1/4)) = +/-3.88 (9.2.3); with the fourth of deviation
 * 10, +/-17.0 (9.2.4, table 4), where k = 1.96 would say +/-19.9. Tolerance: the last printed place; for four equal
 * rectangles, of which two are taken as normal, 0.4 %. */
START_TEST(additive_model)
{
    static const struct {
        bool rectangular;
        double fourth, published, places;
    } rows[] = {{false, 1, 3.92, 0.005}, {true, 1, 3.88, 0.015}, {true, 10, 17.0, 0.05}};
    struct spread spread = {0};
    for (int i = 0; i < 4; i++) {
        double deviation = i == 3 ? rows[_i].fourth : 1.0;
        if (rows[_i].rectangular) {
            spread_add_rectangular(&spread, deviation * sqrt(3.0));
        } else {
            spread_add_normal(&spread, deviation, INFINITY);
        }
    }
    near_abs(spread_expanded(&spread), rows[_i].published, rows[_i].places);
}
END_TEST

/* Whatever the mixture, the distribution function rises and the interval holds 95 %. */
START_TEST(monotone)
{
    static const double mixes[][4] = {
        {1, 0.9, 0.8, 0.01}, {1, 0.049, 0, 0}, {1, 0.051, 0, 0.3}, {0.05, 0.04, 0, 1}, {1, 1, 1, 1}};
    const double *mix = mixes[_i];
    struct spread spread = {0};
    for (int i = 0; i < 3; i++) {
        spread_add_rectangular(&spread, mix[i]);
    }
    spread_add_normal(&spread, mix[3], 5.0);
    double before = 0.0;
    for (double x = -8.0; x <= 8.0; x += 0.037) {
        double now = spread_probability(&spread, x);
        ck_assert(now >= before - 1e-9 && now <= 1.0);
        near_abs(now + spread_probability(&spread, -x), 1.0, 1e-8);
        before = now;
    }
    near_abs(spread_probability(&spread, spread_expanded(&spread)), 0.975, 1e-7);
}
END_TEST

Suite *spread_suite(void);
Suite *spread_suite(void)
{
    Suite *suite = suite_create("spread");
    TCase *core = tcase_create("core");
    tcase_add_test(core, no_error);
    tcase_add_test(core, third_rectangle);
    tcase_add_test(core, one_rectangle);
    tcase_add_test(core, triangle);
    tcase_add_test(core, trapezium);
    tcase_add_test(core, normal);
    tcase_add_test(core, student);
    tcase_add_test(core, rectangle_and_normal);
    tcase_add_loop_test(core, additive_model, 0, 3);
    tcase_add_loop_test(core, monotone, 0, 5);
    suite_add_tcase(suite, core);
    return suite;
}
