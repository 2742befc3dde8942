#include "physics/flow_tank.h"

#include "physics/flow_limits.h"

/* The conventional density of the weights that a balance is calibrated with, kg/m3 (ISO 4185, OIML D 28). */
static const double weights_density_kg_m3 = 8000.0;

bool flow_tank_volume(double volume_m3, double filling_time_s, double *flow_m3s)
{
    if (!(volume_m3 >= 0.0 && isfinite(volume_m3)) || !positive(filling_time_s)) {
        return false;
    }
    *flow_m3s = volume_m3 / filling_time_s;
    return true;
}

bool flow_tank_mass(double mass_kg, double filling_time_s, double water_density_kg_m3, double air_density_kg_m3,
                    double *flow_m3s)
{
    if (!(air_density_kg_m3 >= 0.0 && water_density_kg_m3 > air_density_kg_m3) || !positive(water_density_kg_m3)) {
        return false;
    }
    double buoyancy = air_density_kg_m3 * (1.0 / water_density_kg_m3 - 1.0 / weights_density_kg_m3);
    return flow_tank_volume(mass_kg / water_density_kg_m3 * (1.0 + buoyancy), filling_time_s, flow_m3s);
}
