#include "physics/water.h"

#include "near.h"

#include <gsl/gsl_math.h>

/* IAPWS R7-97(2012), table 5: specific volume in region 1, nine figures. */
static const struct {
    double temperature_k, p_abs_pa, volume_m3_kg;
} region1_table[] = {
    {300.0, 3e6, 0.100215168e-2},
    {300.0, 80e6, 0.971180894e-3},
    {500.0, 3e6, 0.120241800e-2},
};

START_TEST(density_meets_the_verification_table)
{
    double density = if97_liquid_density(region1_table[_i].temperature_k, region1_table[_i].p_abs_pa);
    near_abs(1.0 / density, region1_table[_i].volume_m3_kg, 5e-12); /* half of the ninth figure printed */
}
END_TEST

/* IAPWS R7-97(2012), table 35. */
static const struct {
    double temperature_k, p_mpa;
} saturation_table[] = {{300.0, 0.353658941e-2}, {500.0, 0.263889776e1}, {600.0, 0.123443146e2}};

START_TEST(saturation_meets_the_verification_table)
{
    near_rel(1e-6 * if97_saturation_pressure(saturation_table[_i].temperature_k), saturation_table[_i].p_mpa, 2e-9);
}
END_TEST

/* IAPWS R12-08, table 4: the critical enhancement is 1. */
static const struct {
    double temperature_k, density_kg_m3, viscosity_upa_s;
} viscosity_table[] = {
    {298.15, 998.0, 889.735100}, {298.15, 1200.0, 1437.649467}, {373.15, 1000.0, 307.883622},
    {433.15, 1.0, 14.538324},    {433.15, 1000.0, 217.685358},  {873.15, 1.0, 32.619287},
    {873.15, 100.0, 35.802262},  {873.15, 600.0, 77.430195},    {1173.15, 1.0, 44.217245},
    {1173.15, 100.0, 47.640433}, {1173.15, 400.0, 64.154608},
};

START_TEST(viscosity_meets_the_verification_table)
{
    double viscosity = r12_viscosity(viscosity_table[_i].temperature_k, viscosity_table[_i].density_kg_m3);
    near_abs(1e6 * viscosity, viscosity_table[_i].viscosity_upa_s, 1e-6); /* six decimals are printed */
}
END_TEST

/* Handbook densities of water at 101 325 Pa (CRC Handbook, rounded there to 0.01). */
static const struct {
    double temperature_c, density_kg_m3;
} cold_water[] = {{4.0, 999.97}, {20.0, 998.21}, {25.0, 997.05}, {30.0, 995.65}, {40.0, 992.22}};

START_TEST(cold_water_is_as_the_handbook_says)
{
    double density;
    ck_assert(water_density(cold_water[_i].temperature_c, 101325.0, &density));
    /* half a unit of the last place printed, and as much for IF97 against the handbook's own equation */
    near_abs(density, cold_water[_i].density_kg_m3, 0.01);
}
END_TEST

static const struct {
    double temperature_c, p_abs_pa;
    bool liquid;
} range_table[] = {
    {0.0, 101325.0, true},       {-1e-6, 101325.0, false},
    {100.0, 101500.0, true}, /* IF97: boils at 101 418 Pa */
    {100.0, 101400.0, false},    {100.0 + 1e-6, 1e6, false},
    {20.0, 100e6, true},         {20.0, 100e6 * (1 + 1e-12), false},
    {20.0, 2340.0, true}, /* boils at 2339 Pa */
    {20.0, 2338.0, false},       {20.0, -1.0, false},
    {NAN, 101325.0, false},      {20.0, NAN, false},
    {INFINITY, 101325.0, false},
};

START_TEST(water_outside_the_range_gives_nothing)
{
    double density = 7.0, viscosity = 7.0;
    ck_assert(water_density(range_table[_i].temperature_c, range_table[_i].p_abs_pa, &density) ==
              range_table[_i].liquid);
    ck_assert(water_viscosity(range_table[_i].temperature_c, range_table[_i].p_abs_pa, &viscosity) ==
              range_table[_i].liquid);
    ck_assert((density == 7.0) == !range_table[_i].liquid);
    ck_assert((viscosity == 7.0) == !range_table[_i].liquid);
}
END_TEST

START_TEST(vapour_pressure_holds_from_ice_to_steam)
{
    double p = 7.0;
    ck_assert(!water_vapour_pressure(-1e-9, &p) && !water_vapour_pressure(100.0 + 1e-9, &p) &&
              !water_vapour_pressure(NAN, &p));
    ck_assert(p == 7.0);
    ck_assert(water_vapour_pressure(0.0, &p));
    near_abs(p, 611.213, 5e-4); /* R7-97(2012), section 8.1: 611.213 Pa at 273.15 K */
    ck_assert(water_vapour_pressure(100.0, &p));
    near_rel(p, 101418.0, 1e-5); /* IAPWS steam tables: 0.101418 MPa, six figures */
}
END_TEST

START_TEST(gravity_follows_latitude_and_altitude)
{
    double degree = M_PI / 180.0;
    near_abs(site_gravity(23.0 * degree, 500.0), 9.7867, 5e-5); /* by hand from the formula, four decimals */
    near_abs(site_gravity(0.0, 5000.0), 9.7653, 1e-5);          /* 9.7803 - 5 x 0.003: five decimals by hand */
    near_abs(site_gravity(45.0 * degree, 0.0), 9.80665, 5e-4);  /* standard gravity is that of 45 degrees, nearly */
    near_abs(site_gravity(-23.0 * degree, 500.0), site_gravity(23.0 * degree, 500.0), 0.0);
    ck_assert(isfinite(site_gravity(M_PI_2, 9000.0)) && isfinite(site_gravity(-M_PI_2, -500.0)));
    ck_assert(isnan(site_gravity(M_PI_2 + 1e-9, 0.0)) && isnan(site_gravity(0.0, 9000.1)) &&
              isnan(site_gravity(0.0, -500.1)));
    ck_assert(isnan(site_gravity(NAN, 0.0)) && isnan(site_gravity(0.0, NAN)));
}
END_TEST

/* US Standard Atmosphere 1976 (the same below 32 km as ISO 2533), table I, geometric altitude; five figures are
 * printed. */
static const struct {
    double altitude_m, pressure_pa;
} atmosphere[] = {{0.0, 101325.0},   {500.0, 95461.0},  {1000.0, 89876.0},
                  {2000.0, 79501.0}, {5000.0, 54048.0}, {8000.0, 35651.0}};

START_TEST(air_pressure_is_the_standard_atmospheres)
{
    near_rel(site_air_pressure(atmosphere[_i].altitude_m), atmosphere[_i].pressure_pa, 2e-5); /* five figures */
}
END_TEST

START_TEST(air_pressure_outside_the_range_is_nan)
{
    ck_assert(site_air_pressure(-500.0) > 101325.0);
    ck_assert(isnan(site_air_pressure(-500.1)) && isnan(site_air_pressure(9000.1)) && isnan(site_air_pressure(NAN)));
}
END_TEST

#define ROWS(table) ((int)(sizeof(table) / sizeof(table)[0]))

Suite *water_suite(void);

Suite *water_suite(void)
{
    Suite *suite = suite_create("water");
    TCase *core = tcase_create("core"), *limits = tcase_create("limits");
    tcase_add_loop_test(core, density_meets_the_verification_table, 0, ROWS(region1_table));
    tcase_add_loop_test(core, saturation_meets_the_verification_table, 0, ROWS(saturation_table));
    tcase_add_loop_test(core, viscosity_meets_the_verification_table, 0, ROWS(viscosity_table));
    tcase_add_loop_test(core, cold_water_is_as_the_handbook_says, 0, ROWS(cold_water));
    tcase_add_test(core, vapour_pressure_holds_from_ice_to_steam);
    tcase_add_test(core, gravity_follows_latitude_and_altitude);
    tcase_add_loop_test(core, air_pressure_is_the_standard_atmospheres, 0, ROWS(atmosphere));
    tcase_add_loop_test(limits, water_outside_the_range_gives_nothing, 0, ROWS(range_table));
    tcase_add_test(limits, air_pressure_outside_the_range_is_nan);
    suite_add_tcase(suite, core);
    suite_add_tcase(suite, limits);
    return suite;
}
