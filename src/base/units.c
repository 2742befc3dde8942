#include "base/units.h"

#include <string.h>

/* Exact by definition: the international yard and pound (1959), standard gravity (3rd CGPM, 1901), the US gallon of
 * 231 cubic inches, the imperial gallon (UK Weights and Measures Act 1985), conventional water of 1000 kg/m3 and
 * mercury of 13595.1 kg/m3 under standard gravity (ISO 80000-4 remarks; from memory). */
#define INCH          0.0254
#define FOOT          0.3048
#define CUBIC_FOOT    (FOOT * FOOT * FOOT)
#define POUND         0.45359237
#define GRAVITY       9.80665
#define LITRE         1e-3
#define US_GALLON     (231 * INCH * INCH * INCH)
#define IMP_GALLON    (4.54609 * LITRE)
#define POUND_FORCE   (POUND * GRAVITY)
#define SLUG          (POUND_FORCE / FOOT)
#define ATMOSPHERE    101325.0
#define WATER_METRE   (1000 * GRAVITY)
#define MERCURY_METRE (13595.1 * GRAVITY)
#define MINUTE        60.0
#define HOUR          3600.0
#define DAY           86400.0
#define PI            3.14159265358979323846

struct row {
    struct unit unit;
    const char *spellings; /* separated by spaces, as unit_key makes them; '=' before one: its case must match */
};

/* mW and mPa are missing on purpose: no bay measures them, so they can only be slips for MW and MPa. */
static const struct row rows[] = {
    {{"%", DIM_RATIO, 0.01, 0}, "% percent /cent pct"},
    {{"1", DIM_RATIO, 1, 0}, "1 - fraction frac ratio pu"},

    {{"L/s", DIM_FLOW, LITRE, 0}, "l/s lps ls-1"},
    {{"L/min", DIM_FLOW, LITRE / MINUTE, 0}, "l/min lpm lmin-1"},
    {{"L/h", DIM_FLOW, LITRE / HOUR, 0}, "l/h lph lh-1"},
    {{"m³/h", DIM_FLOW, 1 / HOUR, 0}, "m3/h cum/h cumh m3h m3h-1 cmh kl/h klph"},
    {{"m³/min", DIM_FLOW, 1 / MINUTE, 0}, "m3/min cum/min m3min-1"},
    {{"m³/s", DIM_FLOW, 1, 0}, "m3/s cum/s m3s-1 cumec cumecs"},
    {{"m³/d", DIM_FLOW, 1 / DAY, 0}, "m3/d cum/d kl/d kld"},
    {{"ML/d", DIM_FLOW, 1000 / DAY, 0}, "=ML/d =Ml/d =ML/D mld"},
    {{"US gpm", DIM_FLOW, US_GALLON / MINUTE, 0}, "gpm usgpm usgal/min gpmus gal/minus"},
    {{"US gph", DIM_FLOW, US_GALLON / HOUR, 0}, "usgph usgal/h gphus"},
    {{"imp gpm", DIM_FLOW, IMP_GALLON / MINUTE, 0}, "impgpm igpm ukgpm impgal/min igal/min gpmimp"},
    {{"imp gph", DIM_FLOW, IMP_GALLON / HOUR, 0}, "impgph igph ukgph impgal/h igal/h gphimp"},
    {{"ft³/s", DIM_FLOW, CUBIC_FOOT, 0}, "ft3/s cuft/s cft/s cfs cusec cusecs"},
    {{"ft³/min", DIM_FLOW, CUBIC_FOOT / MINUTE, 0}, "ft3/min cuft/min cft/min cfm"},

    {{"Pa", DIM_PRESSURE, 1, 0}, "pa n/m2"},
    {{"hPa", DIM_PRESSURE, 1e2, 0}, "hpa"},
    {{"kPa", DIM_PRESSURE, 1e3, 0}, "kpa kpag kn/m2"},
    {{"MPa", DIM_PRESSURE, 1e6, 0}, "=MPa =MPA =Mpa =MPag n/mm2"},
    {{"mbar", DIM_PRESSURE, 1e2, 0}, "mbar"},
    {{"bar", DIM_PRESSURE, 1e5, 0}, "bar barg"},
    {{"kgf/cm²", DIM_PRESSURE, GRAVITY * 1e4, 0},
     "kgf/cm2 kg/cm2 kgf/cm2g kg/cm2g kgf/sqcm kg/sqcm kgfcm-2 kgcm-2 kp/cm2 ksc at"},
    {{"psi", DIM_PRESSURE, POUND_FORCE / (INCH * INCH), 0}, "psi psig lbf/in2 lb/in2 lb/sqin lbf/sqin"},
    {{"atm", DIM_PRESSURE, ATMOSPHERE, 0}, "atm"},
    {{"torr", DIM_PRESSURE, ATMOSPHERE / 760, 0}, "torr"},
    {{"mmHg", DIM_PRESSURE, MERCURY_METRE * 1e-3, 0}, "mmhg"},
    {{"inHg", DIM_PRESSURE, MERCURY_METRE *INCH, 0}, "inhg"},
    {{"m water", DIM_PRESSURE, WATER_METRE, 0}, "mh2o m mwc mwg mlc mwater"},
    {{"cm water", DIM_PRESSURE, WATER_METRE * 1e-2, 0}, "cmh2o cmwc cmwg"},
    {{"mm water", DIM_PRESSURE, WATER_METRE * 1e-3, 0}, "mmh2o mmwc mmwg mmaq"},
    {{"ft water", DIM_PRESSURE, WATER_METRE *FOOT, 0}, "fth2o ft ftwc ftwg"},
    {{"in water", DIM_PRESSURE, WATER_METRE *INCH, 0}, "inh2o inwc inwg"},

    {{"m", DIM_LENGTH, 1, 0}, "m mwc mlc mh2o"},
    {{"cm", DIM_LENGTH, 1e-2, 0}, "cm"},
    {{"mm", DIM_LENGTH, 1e-3, 0}, "mm"},
    {{"µm", DIM_LENGTH, 1e-6, 0}, "um micron microns"},
    {{"km", DIM_LENGTH, 1e3, 0}, "km"},
    {{"in", DIM_LENGTH, INCH, 0}, "in"},
    {{"ft", DIM_LENGTH, FOOT, 0}, "ft"},

    {{"m³", DIM_VOLUME, 1, 0}, "m3 cum kl"},
    {{"L", DIM_VOLUME, LITRE, 0}, "l dm3"},
    {{"mL", DIM_VOLUME, 1e-6, 0}, "=ml =mL cm3 cc"},
    {{"ft³", DIM_VOLUME, CUBIC_FOOT, 0}, "ft3 cuft cft"},
    {{"US gal", DIM_VOLUME, US_GALLON, 0}, "usgal galus"},
    {{"imp gal", DIM_VOLUME, IMP_GALLON, 0}, "impgal igal galimp"},

    {{"kg", DIM_MASS, 1, 0}, "kg"},
    {{"g", DIM_MASS, 1e-3, 0}, "g"},
    {{"t", DIM_MASS, 1e3, 0}, "t metrict"},
    {{"lb", DIM_MASS, POUND, 0}, "lb"},

    {{"s", DIM_TIME, 1, 0}, "s"},
    {{"ms", DIM_TIME, 1e-3, 0}, "ms"},
    {{"min", DIM_TIME, MINUTE, 0}, "min"},
    {{"h", DIM_TIME, HOUR, 0}, "h"},
    {{"d", DIM_TIME, DAY, 0}, "d"},

    {{"W", DIM_POWER, 1, 0}, "w"},
    {{"kW", DIM_POWER, 1e3, 0}, "kw"},
    {{"MW", DIM_POWER, 1e6, 0}, "=MW"},
    {{"hp", DIM_POWER, 550 * FOOT *POUND_FORCE, 0}, "hp bhp hpmech mechhp"},
    {{"metric hp", DIM_POWER, 75 * GRAVITY, 0}, "metrichp hpmetric ps cv"},
    {{"electric hp", DIM_POWER, 746, 0}, "electrichp hpelectric elechp hpelec"},

    {{"V", DIM_VOLTAGE, 1, 0}, "v"},
    {{"kV", DIM_VOLTAGE, 1e3, 0}, "kv"},
    {{"mV", DIM_VOLTAGE, 1e-3, 0}, "=mV =mv"},

    {{"A", DIM_CURRENT, 1, 0}, "a"},
    {{"kA", DIM_CURRENT, 1e3, 0}, "ka"},
    {{"mA", DIM_CURRENT, 1e-3, 0}, "=mA =ma"},

    {{"Hz", DIM_FREQUENCY, 1, 0}, "hz 1/s s-1 cps c/s"},
    {{"kHz", DIM_FREQUENCY, 1e3, 0}, "khz"},

    {{"rpm", DIM_SPEED, 1, 0}, "rpm r/min rev/min 1/min /min min-1"},
    {{"rev/s", DIM_SPEED, 60, 0}, "rev/s r/s rps 1/s s-1"},
    {{"rad/s", DIM_SPEED, 30 / PI, 0}, "rad/s"},

    {{"°C", DIM_TEMPERATURE, 1, 0}, "c degc"},
    {{"°F", DIM_TEMPERATURE, 5 / 9.0, -160 / 9.0}, "f degf"},
    {{"K", DIM_TEMPERATURE, 1, -273.15}, "k degk"},

    {{"Ω", DIM_RESISTANCE, 1, 0}, "ohm"},
    {{"µΩ", DIM_RESISTANCE, 1e-6, 0}, "uohm"},
    {{"mΩ", DIM_RESISTANCE, 1e-3, 0}, "=mohm =mOhm"},
    {{"kΩ", DIM_RESISTANCE, 1e3, 0}, "kohm"},
    {{"MΩ", DIM_RESISTANCE, 1e6, 0}, "=Mohm =MOhm =MOHM"},
    {{"GΩ", DIM_RESISTANCE, 1e9, 0}, "gohm gigaohm"},

    {{"rad", DIM_ANGLE, 1, 0}, "rad"},
    {{"°", DIM_ANGLE, PI / 180, 0}, "deg"},

    {{"kg/m³", DIM_DENSITY, 1, 0}, "kg/m3 kg/cum kgm-3"},
    {{"kg/L", DIM_DENSITY, 1e3, 0}, "kg/l kg/dm3 t/m3"},
    {{"g/cm³", DIM_DENSITY, 1e3, 0}, "g/cm3 g/cc g/ml gcm-3"},
    {{"g/L", DIM_DENSITY, 1, 0}, "g/l"},
    {{"lb/ft³", DIM_DENSITY, POUND / CUBIC_FOOT, 0}, "lb/ft3 lb/cuft lbm/ft3"},
    {{"slug/ft³", DIM_DENSITY, SLUG / CUBIC_FOOT, 0}, "slug/ft3 slug/cuft slugs/ft3"},

    {{"m/s²", DIM_ACCELERATION, 1, 0}, "m/s2 m/s/s ms-2"},
    {{"cm/s²", DIM_ACCELERATION, 1e-2, 0}, "cm/s2"},
    {{"ft/s²", DIM_ACCELERATION, FOOT, 0}, "ft/s2 ft/s/s fts-2"},

    {{"rev/kWh", DIM_METER_CONSTANT, 1 / 3.6e6, 0}, "rev/kwh r/kwh"},
    {{"imp/kWh", DIM_METER_CONSTANT, 1 / 3.6e6, 0}, "imp/kwh p/kwh"},
    {{"imp/Wh", DIM_METER_CONSTANT, 1 / 3.6e3, 0}, "imp/wh p/wh"},
};

enum { ROW_COUNT = sizeof rows / sizeof *rows, KEY_SIZE = 48 };

/* --- spellings --- */

struct change {
    const char *from, *to;
};

/* Written-out words and their plurals; a word stands between anything that is not an ASCII letter. */
static const struct change words[] = {
    {"per", "/"},          {"of", ""},           {"column", ""},       {"cubic", "cu"},     {"square", "sq"},
    {"litre", "l"},        {"liter", "l"},       {"lit", "l"},         {"ltr", "l"},        {"gallon", "gal"},
    {"gal", "gal"},        {"imperial", "imp"},  {"uk", "imp"},        {"usa", "us"},       {"second", "s"},
    {"sec", "s"},          {"minute", "min"},    {"min", "min"},       {"hour", "h"},       {"hr", "h"},
    {"day", "d"},          {"metre", "m"},       {"meter", "m"},       {"mtr", "m"},        {"millimetre", "mm"},
    {"millimeter", "mm"},  {"centimetre", "cm"}, {"centimeter", "cm"}, {"foot", "ft"},      {"feet", "ft"},
    {"inch", "in"},        {"inches", "in"},     {"pound", "lb"},      {"lb", "lb"},        {"kilogram", "kg"},
    {"kg", "kg"},          {"gram", "g"},        {"gm", "g"},          {"tonne", "t"},      {"water", "h2o"},
    {"wc", "h2o"},         {"wg", "h2o"},        {"mercury", "hg"},    {"gauge", "g"},      {"pascal", "pa"},
    {"kilopascal", "kpa"}, {"watt", "w"},        {"kilowatt", "kw"},   {"volt", "v"},       {"kilovolt", "kv"},
    {"amp", "a"},          {"ampere", "a"},      {"hertz", "hz"},      {"ohm", "ohm"},      {"microohm", "uohm"},
    {"milliohm", "mohm"},  {"kilohm", "kohm"},   {"kiloohm", "kohm"},  {"megohm", "Mohm"},  {"megaohm", "Mohm"},
    {"revolution", "rev"}, {"rev", "rev"},       {"impulse", "imp"},   {"imp", "imp"},      {"pulse", "imp"},
    {"degree", "deg"},     {"deg", "deg"},       {"celsius", "c"},     {"fahrenheit", "f"}, {"kelvin", "k"},
    {"radian", "rad"},
};

/* Signs that are written in more than one way; what maps to "" only separates. */
static const struct change signs[] = {
    {" ", ""},         {"\t", ""},     {"_", ""},     {".", ""},       {"(", ""},       {")", ""},
    {"^", ""},         {"*", ""},      {"·", ""},     {"⋅", ""},       {"×", ""},       {"\u00a0", ""},
    {"\u2009", ""},    {"\u202f", ""}, {"¹", "1"},    {"²", "2"},      {"³", "3"},      {"⁻", "-"},
    {"−", "-"},        {"–", "-"},     {"∕", "/"},    {"⁄", "/"},      {"₂", "2"},      {"°", "deg"},
    {"º", "deg"},      {"℃", "degc"},  {"℉", "degf"}, {"\u00b5", "u"}, {"\u03bc", "u"}, {"\u03a9", "ohm"},
    {"\u2126", "ohm"},
};

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool is_letter(char c)
{
    return lower(c) >= 'a' && lower(c) <= 'z';
}

/* True when the first length bytes of text are word, whatever the case. */
static bool same_folded(const char *text, size_t length, const char *word)
{
    size_t i = 0;
    while (i < length && word[i] != '\0' && lower(text[i]) == lower(word[i])) {
        i++;
    }
    return i == length && word[i] == '\0';
}

/* The short form of a word of length letters, singular or plural; NULL when it has none. */
static const char *word_short(const char *word, size_t length)
{
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        bool plural = length > 2 && lower(word[length - 1]) == 's' && same_folded(word, length - 1, words[i].from);
        if (plural || same_folded(word, length, words[i].from)) {
            return words[i].to;
        }
    }
    return NULL;
}

static bool key_add(char key[KEY_SIZE], size_t *used, const char *text, size_t length)
{
    if (length >= KEY_SIZE - *used) {
        return false;
    }
    memcpy(key + *used, text, length);
    *used += length;
    key[*used] = '\0';
    return true;
}

/* Reduces a spelling to its key: "cu. metres per hour" becomes "cum/h". Returns: false when it is too long to be a
 * unit. */
static bool unit_key(const char *text, char key[KEY_SIZE])
{
    size_t used = 0;
    key[0] = '\0';
    while (*text != '\0') {
        size_t length = 0;
        while (is_letter(text[length])) {
            length++;
        }
        const char *shorter = length > 0 ? word_short(text, length) : NULL;
        for (size_t i = 0; length == 0 && i < sizeof signs / sizeof *signs; i++) {
            size_t bytes = strlen(signs[i].from);
            if (strncmp(text, signs[i].from, bytes) == 0) {
                shorter = signs[i].to;
                length = bytes;
            }
        }
        length = length == 0 ? 1 : length;
        if (!key_add(key, &used, shorter != NULL ? shorter : text, shorter != NULL ? strlen(shorter) : length)) {
            return false;
        }
        text += length;
    }
    return used > 0;
}

static bool spelled(const char *spellings, const char *key)
{
    size_t key_length = strlen(key);
    while (*spellings != '\0') {
        bool exact = *spellings == '=';
        spellings += exact;
        size_t length = strcspn(spellings, " ");
        bool same = exact ? strncmp(spellings, key, length) == 0 : same_folded(spellings, length, key);
        if (same && length == key_length) {
            return true;
        }
        spellings += length;
        spellings += *spellings == ' ';
    }
    return false;
}

const struct unit *unit_find(enum dimension dimension, const char *text)
{
    char key[KEY_SIZE];
    if (!unit_key(text, key)) {
        return NULL;
    }
    for (size_t i = 0; i < ROW_COUNT; i++) {
        if (rows[i].unit.dimension == dimension && spelled(rows[i].spellings, key)) {
            return &rows[i].unit;
        }
    }
    return NULL;
}

const struct unit *unit_at(size_t index)
{
    return index < ROW_COUNT ? &rows[index].unit : NULL;
}

/* --- what messages say --- */

static const struct {
    const char *name, *examples;
} dimensions[DIM_COUNT] = {
    [DIM_NONE] = {"text", "no unit"},
    [DIM_RATIO] = {"ratio", "%, 1"},
    [DIM_FLOW] = {"flow", "L/s, L/min, m³/h, US gpm, imp gpm"},
    [DIM_PRESSURE] = {"pressure", "kPa, bar, kgf/cm², psi, m, ft, mmHg"},
    [DIM_LENGTH] = {"length", "m, mm, ft, in"},
    [DIM_VOLUME] = {"volume", "L, m³, US gal, imp gal"},
    [DIM_MASS] = {"mass", "kg, t, lb"},
    [DIM_TIME] = {"time", "s, ms, min, h"},
    [DIM_POWER] = {"power", "kW, W, hp"},
    [DIM_VOLTAGE] = {"voltage", "V, kV"},
    [DIM_CURRENT] = {"current", "A, mA"},
    [DIM_FREQUENCY] = {"frequency", "Hz"},
    [DIM_SPEED] = {"speed", "rpm, rev/s, rad/s"},
    [DIM_TEMPERATURE] = {"temperature", "°C, °F, K"},
    [DIM_RESISTANCE] = {"resistance", "Ω, mΩ, kΩ, MΩ"},
    [DIM_ANGLE] = {"angle", "°, rad"},
    [DIM_DENSITY] = {"density", "kg/m³, kg/L, lb/ft³"},
    [DIM_ACCELERATION] = {"acceleration", "m/s², ft/s²"},
    [DIM_METER_CONSTANT] = {"meter constant", "rev/kWh, imp/kWh"},
};

const char *unit_examples(enum dimension dimension)
{
    return dimensions[dimension].examples;
}

const char *dimension_name(enum dimension dimension)
{
    return dimensions[dimension].name;
}

/* --- converting --- */

double unit_to_si(const struct unit *unit, double reading)
{
    return unit->factor * reading + unit->offset;
}

double unit_from_si(const struct unit *unit, double si)
{
    return (si - unit->offset) / unit->factor;
}

double unit_difference_to_si(const struct unit *unit, double difference)
{
    return unit->factor * difference;
}
