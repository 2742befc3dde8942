#include "physics/flow_weir.h"

#include "physics/flow_limits.h"

#include <gsl/gsl_math.h>
#include <math.h>

/* Where x lies on a rising axis: between steps[at] and steps[at + 1], as a share of the way. Held at both ends. */
struct place_on_axis {
    size_t at;
    double share;
};

static struct place_on_axis axis_place(const double *steps, size_t count, double x)
{
    size_t at = 0;
    while (at + 2 < count && x >= steps[at + 1]) {
        at++;
    }
    double share = (x - steps[at]) / (steps[at + 1] - steps[at]);
    return (struct place_on_axis){.at = at, .share = fmin(fmax(share, 0.0), 1.0)};
}

static double between(const double *values, struct place_on_axis place)
{
    return values[place.at] + place.share * (values[place.at + 1] - values[place.at]);
}

/* --- V-notch --- */

enum { ANGLES = 9, DEPTHS = 7, CONTRACTIONS = 9 };

/* Fully contracted notches, read from the curves of Kulin and Compton, A guide to methods and standards for the
 * measurement of water flow, NBS Special Publication 421 (1975), figures 4-3 and 4-4, which are those of ISO 1438; the
 * 90 degree values are ISO 1438's own. Two independent readings agree within 0.0003 and 0.1 mm (0.03 mm from 30
 * degrees). */
static const double notch_angle_deg[ANGLES] = {20, 30, 40, 50, 60, 70, 80, 90, 100};
static const double notch_ce[ANGLES] = {0.592, 0.586, 0.582, 0.579, 0.577, 0.576, 0.576, 0.578, 0.581};
static const double notch_kh_m[ANGLES] = {2.75e-3, 2.12e-3, 1.67e-3, 1.36e-3, 1.14e-3,
                                          1.00e-3, 0.91e-3, 0.85e-3, 0.85e-3};

/* Ce of a 90 degree notch whose floor and walls are near, from the same publication's figure 4-5 (read from the
 * figure). Over h/B the curves for all p/B nearly fall together. Cells past h/p = 1.2, where the
 * figure ends, only steady the interpolation short of it. */
static const double depth_p_over_b[DEPTHS] = {0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0};
static const double contraction_h_over_b[CONTRACTIONS] = {0.00, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40};
static const double partial_ce[DEPTHS][CONTRACTIONS] = {
    {0.5780, 0.5788, 0.5769, 0.5770, 0.5804, 0.5833, 0.5877, 0.5928, 0.5989},
    {0.5780, 0.5788, 0.5788, 0.5784, 0.5804, 0.5833, 0.5877, 0.5928, 0.5989},
    {0.5780, 0.5786, 0.5789, 0.5788, 0.5802, 0.5833, 0.5877, 0.5928, 0.5989},
    {0.5780, 0.5783, 0.5788, 0.5789, 0.5792, 0.5819, 0.5863, 0.5922, 0.5989},
    {0.5780, 0.5780, 0.5786, 0.5787, 0.5792, 0.5809, 0.5839, 0.5883, 0.5943},
    {0.5780, 0.5780, 0.5783, 0.5787, 0.5788, 0.5800, 0.5830, 0.5871, 0.5925},
    {0.5780, 0.5780, 0.5782, 0.5785, 0.5786, 0.5792, 0.5813, 0.5848, 0.5904},
};

static double partial_coefficient(double p_over_b, double h_over_b)
{
    struct place_on_axis row = axis_place(depth_p_over_b, DEPTHS, p_over_b);
    struct place_on_axis column = axis_place(contraction_h_over_b, CONTRACTIONS, h_over_b);
    double ends[2] = {between(partial_ce[row.at], column), between(partial_ce[row.at + 1], column)};
    return between(ends, (struct place_on_axis){.at = 0, .share = row.share});
}

static void length_from(struct flow_limits *limits, const char *source, const char *name, double length_m,
                        double low_mm)
{
    limit_range(limits, (struct limited){name, " mm", source, 1000.0 * length_m}, low_mm, INFINITY);
}

static void ratio_within(struct flow_limits *limits, const char *source, const char *name, double ratio, double low,
                         double high)
{
    limit_range(limits, (struct limited){name, "", source, ratio}, low, high);
}

/* A right-angled notch may be partially contracted, so its limits are wider. */
static void name_notch_limits(const struct weir *weir, double angle_deg, bool right_angle, double head_m,
                              struct flow_limits *limits)
{
    static const char source[] = "ISO 1438, V-notch (from memory, confirm)";
    double crest_m = weir->crest_height_m, approach_m = weir->approach_width_m;
    limit_range(limits, (struct limited){"notch angle", "°", source, angle_deg}, 20.0, 100.0);
    length_from(limits, source, "weir head", head_m, 60.0);
    if (weir->crest_known) {
        length_from(limits, source, "crest height", crest_m, 90.0);
        ratio_within(limits, source, "head over crest height", head_m / crest_m, 0.0, right_angle ? 1.2 : 0.35);
    }
    if (weir->approach_known) {
        ratio_within(limits, source, "head over approach width", head_m / approach_m, 0.0, right_angle ? 0.4 : 0.2);
    }
    if (weir->crest_known && weir->approach_known) {
        ratio_within(limits, source, "crest height over approach width", crest_m / approach_m, 0.1,
                     right_angle ? 1.0 : 1.5);
    } else {
        limit_say(limits,
                  "crest height or approach width is not stated: the notch is taken as fully contracted (ISO 1438)");
    }
}

static bool weir_valid(const struct weir *weir, double head_m)
{
    return head_m >= 0.0 && isfinite(head_m) && positive(weir->gravity_m_s2) &&
           (!weir->coefficient.known || positive(weir->coefficient.value)) &&
           (!weir->crest_known || positive(weir->crest_height_m)) &&
           (!weir->approach_known || positive(weir->approach_width_m));
}

bool flow_v_notch(const struct weir *weir, double head_m, double *flow_m3s, struct flow_limits *limits)
{
    if (!weir_valid(weir, head_m) || !(weir->angle_rad > 0.0 && weir->angle_rad < M_PI)) {
        return false;
    }
    double coefficient = weir->coefficient.value, effective_m = head_m;
    if (!weir->coefficient.known) {
        double angle_deg = weir->angle_rad * 180.0 / M_PI;
        bool right_angle = fabs(angle_deg - 90.0) <= 1.0;
        struct place_on_axis place = axis_place(notch_angle_deg, ANGLES, angle_deg);
        coefficient = between(notch_ce, place);
        effective_m = head_m == 0.0 ? 0.0 : head_m + between(notch_kh_m, place);
        if (right_angle && weir->crest_known && weir->approach_known) {
            coefficient =
                partial_coefficient(weir->crest_height_m / weir->approach_width_m, head_m / weir->approach_width_m);
        }
        if (head_m > 0.0) {
            name_notch_limits(weir, angle_deg, right_angle, head_m, limits);
        }
    }
    *flow_m3s =
        coefficient * 8.0 / 15.0 * sqrt(2.0 * weir->gravity_m_s2) * tan(0.5 * weir->angle_rad) * pow(effective_m, 2.5);
    return true;
}

/* --- rectangular notch --- */

enum { WIDTHS = 11, CORRECTIONS = 7 };

/* Ce = slope h/p + base over b/B. ISO 1438 and Kindsvater and Carter (1957); the rows from 0.2 up also in Rossman,
 * Storm Water Management Model reference manual II, table 6-2, as 2/3 sqrt(2 g) Ce in feet. */
static const double width_b_over_b[WIDTHS] = {0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0};
static const double width_base[WIDTHS] = {0.587, 0.588, 0.589, 0.590, 0.591, 0.592, 0.593, 0.595, 0.597, 0.599, 0.602};
static const double width_slope[WIDTHS] = {-0.0023, -0.0021, -0.0018, 0.0020, 0.0058, 0.010,
                                           0.018,   0.030,   0.045,   0.064,  0.075};

/* Width correction kb over b/B; read from ISO 1438's figure (from memory, confirm). */
static const double correction_b_over_b[CORRECTIONS] = {0.0, 0.2, 0.4, 0.6, 0.8, 0.9, 1.0};
static const double correction_kb_m[CORRECTIONS] = {2.4e-3, 2.4e-3, 2.7e-3, 3.6e-3, 4.2e-3, 3.3e-3, -0.9e-3};
static const double rectangular_kh_m = 1e-3;

static void name_rectangular_limits(const struct weir *weir, double head_m, struct flow_limits *limits)
{
    static const char source[] = "ISO 1438, rectangular notch (from memory, confirm)";
    length_from(limits, source, "weir head", head_m, 30.0);
    length_from(limits, source, "notch width", weir->width_m, 150.0);
    if (weir->crest_known) {
        length_from(limits, source, "crest height", weir->crest_height_m, 100.0);
        ratio_within(limits, source, "head over crest height", head_m / weir->crest_height_m, 0.0, 2.5);
    } else {
        limit_say(limits, "crest height is not stated: the approach is taken as deep (ISO 1438)");
    }
    if (!weir->approach_known) {
        limit_say(limits, "approach width is not stated: the notch is taken as fully contracted (ISO 1438)");
    } else if (weir->width_m < weir->approach_width_m) {
        length_from(limits, source, "width beside the notch", 0.5 * (weir->approach_width_m - weir->width_m), 100.0);
    }
}

bool flow_rectangular_notch(const struct weir *weir, double head_m, double *flow_m3s, struct flow_limits *limits)
{
    if (!weir_valid(weir, head_m) || !positive(weir->width_m) ||
        (weir->approach_known && weir->width_m > weir->approach_width_m)) {
        return false;
    }
    double coefficient = weir->coefficient.value, effective_m = head_m, effective_width_m = weir->width_m;
    if (!weir->coefficient.known && head_m > 0.0) {
        double b_over_b = weir->approach_known ? weir->width_m / weir->approach_width_m : 0.0;
        double h_over_p = weir->crest_known ? head_m / weir->crest_height_m : 0.0;
        struct place_on_axis place = axis_place(width_b_over_b, WIDTHS, b_over_b);
        coefficient = between(width_base, place) + between(width_slope, place) * h_over_p;
        effective_m += rectangular_kh_m;
        effective_width_m += between(correction_kb_m, axis_place(correction_b_over_b, CORRECTIONS, b_over_b));
        name_rectangular_limits(weir, head_m, limits);
    }
    *flow_m3s = coefficient * 2.0 / 3.0 * sqrt(2.0 * weir->gravity_m_s2) * effective_width_m * pow(effective_m, 1.5);
    return true;
}
