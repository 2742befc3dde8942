#include "physics/chain.h"

enum status chain_init(struct chain *chain, struct arena *arena, size_t count)
{
    *chain = (struct chain){.count = count};
    chain->means = arena_alloc(arena, count, sizeof *chain->means);
    chain->usable = arena_alloc(arena, count, sizeof *chain->usable);
    chain->as_tested = arena_alloc(arena, count, sizeof *chain->as_tested);
    chain->remarks = arena_alloc(arena, count, sizeof *chain->remarks);
    chain->at_rated = arena_alloc(arena, count, sizeof *chain->at_rated);
    chain->flow_m3s = arena_alloc(arena, count, sizeof *chain->flow_m3s);
    chain->value = arena_alloc(arena, count, sizeof *chain->value);
    bool made = chain->means != NULL && chain->usable != NULL && chain->as_tested != NULL && chain->remarks != NULL &&
                chain->at_rated != NULL && chain->flow_m3s != NULL && chain->value != NULL;
    for (size_t c = 0; c < CURVE_COUNT; c++) {
        chain->point_of[c] = arena_alloc(arena, count, sizeof *chain->point_of[c]);
        made = made && chain->point_of[c] != NULL;
    }
    return made ? OK : E_MEMORY;
}

static struct quantity curve_value(const struct chain *chain, size_t i, enum which_curve which)
{
    const struct rated_point *rated = &chain->at_rated[i];
    switch (which) {
    case CURVE_HEAD: return rated->head_m;
    case CURVE_INPUT_POWER: return rated->input_power_w;
    case CURVE_CURRENT: return rated->current_a;
    case CURVE_SHAFT_POWER: return rated->shaft_power_w;
    case CURVE_DENSITY: return chain->as_tested[i].density_kg_m3;
    case CURVE_COUNT: break;
    }
    return quantity_absent();
}

static enum status fit_one(struct chain *chain, enum which_curve which, struct curve *curve)
{
    size_t count = 0;
    for (size_t i = 0; i < chain->count; i++) {
        const struct rated_point *rated = &chain->at_rated[i];
        struct quantity value = curve_value(chain, i, which);
        if (chain->usable[i] && rated->translated && rated->flow_m3s.known && value.known) {
            chain->flow_m3s[count] = rated->flow_m3s.value;
            chain->value[count] = value.value;
            chain->point_of[which][count] = i;
            count++;
        }
    }
    /* Density follows the water's temperature, which drifts through a test: a parabola in flow is enough. */
    size_t degree = which == CURVE_DENSITY ? 2 : chain->degree[which];
    (void)fit_curve(chain->flow_m3s, chain->value, count, degree, curve);
    for (size_t k = 0; curve->known && k < curve->outlier_count; k++) {
        curve->outliers[k] = chain->point_of[which][curve->outliers[k]];
    }
    return !curve->known && curve->why.cause == CURVE_OUT_OF_MEMORY ? E_MEMORY : OK;
}

enum status chain_fit(struct chain *chain)
{
    struct curves *curves = &chain->curves;
    curves->gravity_m_s2 = chain->site->gravity_m_s2;
    enum status status = OK;
    for (int k = 0; k < CURVE_COUNT && status == OK; k++) {
        status = fit_one(chain, (enum which_curve)k, &curves->of[k]);
    }
    return status;
}

enum status chain_run(struct chain *chain)
{
    for (size_t i = 0; i < chain->count; i++) {
        reduce_point(chain->bay, chain->model, chain->site, &chain->means[i], &chain->as_tested[i], &chain->remarks[i]);
    }
    if (chain->basis == SPEED_UNSTATED) {
        chain->basis = translate_basis(&chain->bay->rig, chain->as_tested, chain->count);
    }
    for (size_t i = 0; i < chain->count; i++) {
        chain->at_rated[i] = translate_point(&chain->as_tested[i], chain->model, chain->basis);
    }
    return chain_fit(chain);
}
