# A record of four settings of 40 s with ramps of 10 s between them, one of which hunts, at 5 Hz; one sample is missing.
BEGIN {
    print "time [s],flow [L/s],gauge pressure [kPa],input power [kW]"
    seed = 7
    for (i = 0; i < 1000; i++) {
        t = i / 5; setting = int(t / 50); within = t - 50 * setting
        flow = setting + (within < 10 && setting > 0 ? within / 10 - 1 : 0)
        if (setting == 2 && within > 10) flow += 0.2 * sin(t)
        seed = (seed * 1103515245 + 12345) % 2147483648
        noise = (seed / 2147483648 - 0.5) / 100
        if (i != 150) printf "%.1f,%.4f,%.2f,%.4f\n", t, flow + noise, 500 - 30 * flow * flow + 100 * noise, 2 + 0.5 * flow + noise
    }
}
