/* make_record [ROWS [search]]: writes a continuous record for the benchmark: ROWS rows (a million if not stated) of 13
 * columns at 50 Hz, in ten settings of the valve with ramps between them, the same bytes every time. With `search` it
 * has the water's temperature instead of the point numbers, so that the points must be found. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ    50.0
#define RAMP_SHARE 0.1 /* of a setting's rows, before the recorded ones */

enum { SETTINGS = 10 };

/* SplitMix64 (Steele, Lea and Flood 2014). */
static uint64_t random_bits(uint64_t *state)
{
    uint64_t z = (*state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

/* About normal, deviation 1: the sum of twelve uniform numbers less their mean. */
static double noise(uint64_t *state)
{
    double sum = -6.0;
    for (int i = 0; i < 12; i++) {
        sum += (double)(random_bits(state) >> 11) / 9007199254740992.0;
    }
    return sum;
}

int main(int argc, char **argv)
{
    long rows = argc > 1 ? strtol(argv[1], NULL, 10) : 1000000;
    long rows_of_setting = rows / SETTINGS > 0 ? rows / SETTINGS : 1;
    int search = argc > 2 && strcmp(argv[2], "search") == 0;
    uint64_t state = 20240531;
    printf("# serial: BENCH-1\n# model: BENCH\n"
           "time [s],%s,flow [m3/h],gauge pressure [kPa],water level [m],voltage ry [V],voltage yb [V],voltage br [V],"
           "current r [A],current y [A],current b [A],input power [kW],frequency [Hz]\n",
           search ? "water temperature [C]" : "point");
    for (long i = 0; i < rows; i++) {
        long setting = i / rows_of_setting < SETTINGS ? i / rows_of_setting : SETTINGS - 1;
        double within = (double)(i - setting * rows_of_setting) / (double)rows_of_setting;
        double opened = (double)setting - (setting > 0 && within < RAMP_SHARE ? 1.0 - within / RAMP_SHARE : 0.0);
        double flow = 5.0 * opened, head = 600.0 - 0.2 * flow * flow, power = 8.0 + 0.15 * flow;
        long point = within < RAMP_SHARE ? 0 : setting + 1;
        printf("%.2f,", (double)i / RATE_HZ);
        printf(search ? "%.2f" : "%.0f", search ? 27.0 + 0.02 * noise(&state) : (double)point);
        printf(",%.3f,%.2f,%.3f,%.1f,%.1f,%.1f,%.2f,%.2f,%.2f,%.3f,%.2f\n", flow + 0.05 * noise(&state),
               head + 1.5 * noise(&state), -12.0 + 0.01 * noise(&state), 415.0 + 0.8 * noise(&state),
               413.0 + 0.8 * noise(&state), 416.0 + 0.8 * noise(&state), 1.9 * power + 0.1 * noise(&state),
               1.92 * power + 0.1 * noise(&state), 1.88 * power + 0.1 * noise(&state), power + 0.03 * noise(&state),
               50.0 + 0.02 * noise(&state));
    }
    return ferror(stdout) || fclose(stdout) != 0;
}
