#include "papers/settled_document.h"

#include "base/files.h"
#include "papers/channel_shown.h"
#include "papers/render.h"

json_t *log_value(struct json_document *doc, const struct log *log, enum log_kind kind)
{
    static const char *const keys[DEFECT_COUNT] = {
        [DEFECT_DROPPED_SAMPLE] = "missing_samples", [DEFECT_REPEATED_TIME] = "repeated_time_stamps",
        [DEFECT_CLOCK_BACK] = "clock_steps_back",    [DEFECT_REPEATED_HEADER] = "repeated_headers",
        [DEFECT_CUT_LAST_LINE] = "cut_last_lines",   [DEFECT_SPIKE] = "spikes",
        [DEFECT_STUCK_CHANNEL] = "stuck_channels",
    };
    json_t *object = json_object(), *bad_samples = json_object();
    put_text(doc, object, "file", file_base(log->file));
    put_text(doc, object, "sha256", log->sha256);
    put_count(doc, object, "rows", log->rows);
    put_text(doc, object, "kind", log_kind_name(kind));
    for (int defect = 0; defect < DEFECT_COUNT; defect++) {
        put_count(doc, bad_samples, keys[defect], log->defects[defect]);
    }
    put_value(doc, object, "bad_samples", bad_samples);
    return object;
}

void put_settled(struct json_document *doc, json_t *object, const struct settled_point *point)
{
    put_value(doc, object, "point", json_integer(point->number));
    put_count(doc, object, "readings", point->readings);
    put_value(doc, object, "steady", json_boolean(point->steady));
    put_text(doc, object, "unsteady_reason", point->steady ? NULL : point->why_unsteady);
    put_quantity(doc, object, "from_s", quantity_of(point->from_s));
    put_quantity(doc, object, "to_s", quantity_of(point->to_s));
}

static json_t *channel_value(struct json_document *doc, enum channel channel, const struct channel_stats *stats,
                             enum log_kind kind)
{
    json_t *object = json_object();
    put_count(doc, object, "readings", stats->n);
    put_quantity(doc, object, "mean", quantity_of(stats->mean));
    put_quantity(doc, object, "lowest", quantity_of(stats->low));
    put_quantity(doc, object, "highest", quantity_of(stats->high));
    if (stats->n > 1) {
        put_quantity(doc, object, "standard_deviation", quantity_of(stats->deviation));
        put_quantity(doc, object, "standard_error", quantity_of(stats->standard_error));
        put_quantity(doc, object, "effective_readings", quantity_of(stats->effective_n));
    }
    if (stats->n > 1 && kind == LOG_CONTINUOUS_RECORD) {
        put_quantity(doc, object, "drift", quantity_of(stats->drift));
    }
    put_quantity(doc, object, "fluctuation", channel_fluctuation(channel, stats));
    return object;
}

json_t *statistics_value(struct json_document *doc, const struct settled_point *point, enum log_kind kind, size_t least)
{
    json_t *channels = json_object();
    for (enum channel c = 0; c < CHANNEL_COUNT; c++) {
        const struct channel_stats *stats = &point->channels[c];
        if (channel_is_measured(c) && stats->n >= least && stats->n > 0) {
            put_value(doc, channels, channel_info(c)->name, channel_value(doc, c, stats, kind));
        }
    }
    return channels;
}
