/* threepass pod: how often a piece is found that lies anyhow. */
#include "cli/cli.h"
#include "scenario/describe.h"

#define SURE 0.95 /* the confidence of what passes without a miss show */

typedef struct {
    PodDescription description;
    PodResult result;
} PodWork;

static void add_json(Text *out, const JsonValue *root, const void *work)
{
    const PodResult *result = &((const PodWork *)work)->result;
    (void)root;
    text_addf(out, "{\n  \"trials\": %llu,\n  \"found\": %llu,\n  \"probability\": ",
              (unsigned long long)result->trials, (unsigned long long)result->found);
    json_add_number(out, result->probability);
    text_add(out, ",\n  \"interval\": { \"level\": ");
    json_add_number(out, POD_LEVEL);
    text_add(out, ", \"low\": ");
    json_add_number(out, result->interval.low);
    text_add(out, ", \"high\": ");
    json_add_number(out, result->interval.high);
    text_add(out, " }\n}\n");
}

static void add_words(Text *out, const JsonValue *root, const void *work)
{
    static const char *const places[] = {[POD_FIXED] = "at its place",
                                         [POD_PACK] = "anywhere in the pack",
                                         [POD_APERTURE] = "anywhere in the aperture"};
    const PodDescription *description = &((const PodWork *)work)->description;
    const PodResult *result = &((const PodWork *)work)->result;
    const TargetPiece *piece = &description->pass.target;
    bool is_wire = piece->shape == TARGET_WIRE;
    text_add(out, "sent     ");
    cli_tell_metal(json_get(json_get(root, "target"), "metal"), out);
    text_addf(out, " %s, %.4g mm", is_wire ? "wire" : "sphere", piece->diameter_m * 1e3);
    if (is_wire) text_addf(out, " thick, %.4g mm long", piece->length_m * 1e3);
    text_addf(out, ", %s%s\n", places[description->place],
              is_wire && description->random_direction ? ", turned anyhow" : "");
    text_addf(out, "found    %llu of %llu\n", (unsigned long long)result->found,
              (unsigned long long)result->trials);
    text_addf(out, "chance   %.4g, and with %.0f %% confidence from %.4g to %.4g\n",
              result->probability, POD_LEVEL * 100, result->interval.low, result->interval.high);
    if (result->found == result->trials) {
        text_addf(out, "shown    none missed: with %.0f %% confidence over %.6g are found\n",
                  SURE * 100, chance_shown_by(result->trials, SURE));
    }
    text_addf(out, "note     %llu real passes without a miss show 90 %% with %.0f %% confidence\n",
              (unsigned long long)chance_passes_for(0.9, SURE), SURE * 100);
    text_add(out, "note     a model's answer; only test pieces tell what the real detector does\n");
}

static bool describe(const JsonValue *root, const MetalTable *metals, void *work, Err *err)
{
    PodWork *pod = work;
    return describe_pod(root, metals, &pod->description, err);
}

static bool compute(void *work, const Progress *progress, Err *err)
{
    PodWork *pod = work;
    return pod_compute(&pod->description, progress, &pod->result, err);
}

static void clear(void *work)
{
    PodWork *pod = work;
    pass_description_clear(&pod->description.pass);
}

int verb_pod(int argc, char **argv, const CliFront *front)
{
    static const CliComputing computing = {sizeof(PodWork), describe,  compute,
                                           add_json,        add_words, clear};
    (void)front;
    return cli_compute(argc, argv, &computing);
}
