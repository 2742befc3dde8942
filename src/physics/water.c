#include "physics/water.h"

#include <gsl/gsl_math.h>
#include <math.h>
#include <stddef.h>

static const double kelvin_at_0c = 273.15;
static const double temperature_max_c = 100.0, p_abs_max_pa = 100e6;

/* Region 1 of IAPWS-IF97, table 2: terms 9 to 34. Terms 1 to 8 have I = 0: no share in the derivative by pressure. */
static const struct {
    int i, j;
    double n;
} region1[] = {
    {1, -9, 0.28319080123804e-3},    {1, -7, -0.60706301565874e-3},    {1, -1, -0.18990068218419e-1},
    {1, 0, -0.32529748770505e-1},    {1, 1, -0.21841717175414e-1},     {1, 3, -0.52838357969930e-4},
    {2, -3, -0.47184321073267e-3},   {2, 0, -0.30001780793026e-3},     {2, 1, 0.47661393906987e-4},
    {2, 3, -0.44141845330846e-5},    {2, 17, -0.72694996297594e-15},   {3, -4, -0.31679644845054e-4},
    {3, 0, -0.28270797985312e-5},    {3, 6, -0.85205128120103e-9},     {4, -5, -0.22425281908000e-5},
    {4, -2, -0.65171222895601e-6},   {4, 10, -0.14341729937924e-12},   {5, -8, -0.40516996860117e-6},
    {8, -11, -0.12734301741641e-8},  {8, -6, -0.17424871230634e-9},    {21, -29, -0.68762131295531e-18},
    {23, -31, 0.14478307828521e-19}, {29, -38, 0.26335781662795e-22},  {30, -39, -0.11947622640071e-22},
    {31, -40, 0.18228094581404e-23}, {32, -41, -0.93537087292458e-25},
};

double if97_liquid_density(double temperature_k, double p_abs_pa)
{
    static const double gas_constant = 461.526, p_star_pa = 16.53e6, t_star_k = 1386.0;
    double a = 7.1 - p_abs_pa / p_star_pa, b = t_star_k / temperature_k - 1.222;
    double gamma_pi = 0.0;
    for (size_t k = 0; k < sizeof region1 / sizeof region1[0]; k++) {
        gamma_pi -= region1[k].n * region1[k].i * gsl_pow_int(a, region1[k].i - 1) * gsl_pow_int(b, region1[k].j);
    }
    /* v = R T / p * pi * gamma_pi, and pi = p / p* */
    return p_star_pa / (gas_constant * temperature_k * gamma_pi);
}

double if97_saturation_pressure(double temperature_k)
{
    /* n1 to n10 of table 34 */
    static const double n1 = 0.11670521452767e4, n2 = -0.72421316703206e6, n3 = -0.17073846940092e2,
                        n4 = 0.12020824702470e5, n5 = -0.32325550322333e7, n6 = 0.14915108613530e2,
                        n7 = -0.48232657361591e4, n8 = 0.40511340542057e6, n9 = -0.23855557567849,
                        n10 = 0.65017534844798e3;
    double theta = temperature_k + n9 / (temperature_k - n10);
    double a = (theta + n1) * theta + n2;
    double b = (n3 * theta + n4) * theta + n5;
    double c = (n6 * theta + n7) * theta + n8;
    return 1e6 * gsl_pow_4(2.0 * c / (-b + sqrt(b * b - 4.0 * a * c)));
}

double r12_viscosity(double temperature_k, double density_kg_m3)
{
    static const double t_critical_k = 647.096, density_critical_kg_m3 = 322.0;
    static const double h0[] = {1.67752, 2.20462, 0.6366564, -0.241605}; /* table 2 */
    static const double h1[6][7] = {
        /* table 3, blanks are 0 */
        {5.20094e-1, 2.22531e-1, -2.81378e-1, 1.61913e-1, -3.25372e-2, 0.0, 0.0},
        {8.50895e-2, 9.99115e-1, -9.06851e-1, 2.57399e-1, 0.0, 0.0, 0.0},
        {-1.08374, 1.88797, -7.72479e-1, 0.0, 0.0, 0.0, 0.0},
        {-2.89555e-1, 1.26613, -4.89837e-1, 0.0, 6.98452e-2, 0.0, -4.35673e-3},
        {0.0, 0.0, -2.57040e-1, 0.0, 0.0, 8.72102e-3, 0.0},
        {0.0, 1.20573e-1, 0.0, 0.0, 0.0, 0.0, -5.93264e-4},
    };
    double t = temperature_k / t_critical_k, density = density_kg_m3 / density_critical_kg_m3;
    double dilute = 100.0 * sqrt(t) / (h0[0] + (h0[1] + (h0[2] + h0[3] / t) / t) / t);
    double exponent = 0.0;
    for (int i = 5; i >= 0; i--) {
        double of_density = 0.0;
        for (int j = 6; j >= 0; j--) {
            of_density = of_density * (density - 1.0) + h1[i][j];
        }
        exponent = exponent * (1.0 / t - 1.0) + of_density;
    }
    return 1e-6 * dilute * exp(density * exponent);
}

static bool liquid_at(double temperature_c)
{
    return temperature_c >= 0.0 && temperature_c <= temperature_max_c;
}

bool water_vapour_pressure(double temperature_c, double *p_abs_pa)
{
    if (!liquid_at(temperature_c)) {
        return false;
    }
    *p_abs_pa = if97_saturation_pressure(temperature_c + kelvin_at_0c);
    return true;
}

bool water_density(double temperature_c, double p_abs_pa, double *density_kg_m3)
{
    double boils_at_pa;
    if (!water_vapour_pressure(temperature_c, &boils_at_pa) || !(p_abs_pa >= boils_at_pa && p_abs_pa <= p_abs_max_pa)) {
        return false;
    }
    *density_kg_m3 = if97_liquid_density(temperature_c + kelvin_at_0c, p_abs_pa);
    return true;
}

bool water_viscosity(double temperature_c, double p_abs_pa, double *viscosity_pa_s)
{
    double density_kg_m3;
    if (!water_density(temperature_c, p_abs_pa, &density_kg_m3)) {
        return false;
    }
    *viscosity_pa_s = r12_viscosity(temperature_c + kelvin_at_0c, density_kg_m3);
    return true;
}

static bool altitude_valid(double altitude_m)
{
    return altitude_m >= -500.0 && altitude_m <= 9000.0;
}

double site_gravity(double latitude_rad, double altitude_m)
{
    if (!(fabs(latitude_rad) <= M_PI_2) || !altitude_valid(altitude_m)) {
        return NAN;
    }
    return 9.7803 * (1.0 + 0.0053 * gsl_pow_2(sin(latitude_rad))) - 3e-6 * altitude_m;
}

double site_air_pressure(double altitude_m)
{
    static const double sea_level_pa = 101325.0, sea_level_k = 288.15, lapse_k_m = 0.0065, earth_radius_m = 6356766.0;
    static const double exponent = 9.80665 / (287.05287 * 0.0065); /* g / (R lapse) */
    if (!altitude_valid(altitude_m)) {
        return NAN;
    }
    double geopotential_m = earth_radius_m * altitude_m / (earth_radius_m + altitude_m);
    return sea_level_pa * pow(1.0 - lapse_k_m * geopotential_m / sea_level_k, exponent);
}
