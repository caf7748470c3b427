/* Fitting a site's heads to what it validated, and the fitted values as text. */
#include "scenario/site.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What one head is fitted to: every program of every line that uses it. */
typedef struct {
    FitProgram programs[FIT_PROGRAMS_MAX];
    FitSphere spheres[FIT_SPHERES_MAX];
    const SiteValidated *validated[FIT_SPHERES_MAX];
    const char *products[FIT_SPHERES_MAX];
    size_t program_count, sphere_count;
} Gathered;

static bool gather(const Site *site, int head, Gathered *all, Err *err)
{
    for (int l = 0; l < site->line_count; l++) {
        const SiteLine *line = &site->lines[l];
        if (line->head != head) continue;
        for (int p = 0; p < line->program_count; p++) {
            const SiteProgram *program = &line->programs[p];
            size_t more = (size_t)program->validated_count;
            if (all->program_count == FIT_PROGRAMS_MAX ||
                all->sphere_count + more > FIT_SPHERES_MAX) {
                return err_at(err, program->place, "head \"%s\" has over %d validated spheres",
                              site->heads[head].id, FIT_SPHERES_MAX);
            }
            const char *product = site->products[program->product].id;
            all->programs[all->program_count++] =
                (FitProgram){.product = site_block(site, line, program->product),
                             .spheres = &all->spheres[all->sphere_count],
                             .count = more,
                             .name = product};
            for (size_t v = 0; v < more; v++) {
                const SiteValidated *each = &program->validated[v];
                all->validated[all->sphere_count] = each;
                all->products[all->sphere_count] = product;
                all->spheres[all->sphere_count++] = (FitSphere){
                    each->metal->figures, (double)each->diameter_um * 1e-6, each->metal->name};
            }
        }
    }
    return true;
}

static void warn_of_distance(const SiteHead *head, const Gathered *all, const FitResult *result,
                             double margin, SiteFitWarning *warn, void *context)
{
    for (size_t i = 0; i < all->sphere_count; i++) {
        double off = fabs(log(result->spheres[i].ratio / result->wanted_ratio));
        if (off <= margin) continue;
        char text[512];
        char model[64] = "none";
        if (result->spheres[i].model_found) {
            (void)snprintf(model, sizeof model, "%.2f mm",
                           result->spheres[i].model_diameter_m * 1e3);
        }
        (void)snprintf(text, sizeof text,
                       "head \"%s\", %s: the site validated %s %.2f mm, the fitted model finds %s; "
                       "check the frequency and the kind of product; do not change a validated "
                       "size that the report bears out: people then practise on a detector that "
                       "finds %s",
                       head->id, all->products[i], all->validated[i]->metal->name,
                       (double)all->validated[i]->diameter_um / 1e3, model, model);
        warn(context, all->validated[i]->place, text);
    }
}

static bool fit_one(const Site *site, int head, double margin, SiteFitWarning *warn, void *context,
                    SiteFitted *out, Err *err)
{
    bool ok = false;
    FitResult result = {0};
    Gathered *all = check_calloc(1, sizeof *all);
    const SiteHead *site_head = &site->heads[head];
    memcpy(out->head, site_head->id, sizeof out->head);
    out->noise_v = 0.0;
    out->variation_factor = 1.0;
    if (!gather(site, head, all, err)) goto done;
    ok = true;
    if (all->sphere_count == 0) goto done;
    Err why = {0};
    ok = fit_head(&site_head->head, site_head->found_probability, all->programs, all->program_count,
                  NULL, &result, &why);
    if (!ok) {
        (void)err_at(err, site_head->place, "head \"%s\" cannot be fitted: %s", site_head->id,
                     why.text);
        goto done;
    }
    out->noise_v = result.noise_v;
    out->variation_factor = result.variation_factor;
    if (warn != NULL) warn_of_distance(site_head, all, &result, margin, warn, context);
done:
    fit_result_clear(&result);
    free(all);
    return ok;
}

bool site_fit(const Site *site, double margin, SiteFitWarning *warn, void *context,
              SiteFitted **out, Err *err)
{
    SiteFitted *fitted = check_calloc((size_t)site->head_count, sizeof *fitted);
    for (int i = 0; i < site->head_count; i++) {
        if (!fit_one(site, i, margin, warn, context, &fitted[i], err)) {
            free(fitted);
            return false;
        }
    }
    *out = fitted;
    return true;
}

void site_fitted_print(const Site *site, const SiteFitted *fitted, Text *out)
{
    text_addf(out, "{\"format\": \"threepass-fitted-1\", \"model\": %d, \"heads\": [",
              DETECTOR_MODEL_VERSION);
    for (int i = 0; i < site->head_count; i++) {
        text_addf(out, "%s{\"id\": \"%s\", \"noise_nv\": ", i == 0 ? "" : ", ", fitted[i].head);
        json_add_number(out, fitted[i].noise_v * 1e9);
        text_add(out, ", \"variation_factor\": ");
        json_add_number(out, fitted[i].variation_factor);
        text_add(out, "}");
    }
    text_add(out, "]}\n");
}

static bool read_fitted(const Site *site, const JsonValue *root, SiteFitted *fitted, Err *err)
{
    static const char *const keys[] = {"format", "model", "heads", NULL};
    static const char *const head_keys[] = {"id", "noise_nv", "variation_factor", NULL};
    static const char *const formats[] = {"threepass-fitted-1", NULL};
    int format;
    int64_t model;
    const JsonValue *list;
    size_t count = (size_t)site->head_count;
    if (!json_want_object(root, "fitted values", keys, err)) return false;
    if (!json_read_word(root, "format", true, formats, &format, err)) return false;
    if (!json_read_integer(root, "model", true, 1, 1000000, &model, err)) return false;
    if (!json_need(root, "heads", &list, err)) return false;
    if (!json_want_array(list, "heads", count, count, err)) return false;
    for (size_t i = 0; i < count; i++) {
        const JsonValue *item = json_at(list, i);
        const char *id;
        double noise_nv;
        if (!json_want_object(item, "head", head_keys, err)) return false;
        if (!json_read_id(item, "id", true, &id, err)) return false;
        if (strcmp(id, site->heads[i].id) != 0) {
            return err_at(err, json_place(json_get(item, "id")),
                          "head \"%s\" stands where the site has \"%s\"", id, site->heads[i].id);
        }
        if (!json_read_number(item, "noise_nv", true, 0, 1e6, &noise_nv, err)) return false;
        if (!json_read_number(item, "variation_factor", true, 0, 1e6, &fitted[i].variation_factor,
                              err))
            return false;
        memcpy(fitted[i].head, site->heads[i].id, sizeof fitted[i].head);
        fitted[i].noise_v = noise_nv * 1e-9;
    }
    return true;
}

bool site_fitted_parse(const Site *site, const char *file, const char *bytes, size_t len,
                       SiteFitted **out, Err *err)
{
    JsonDoc *document = NULL;
    if (!json_parse(file, bytes, len, &document, err)) return false;
    SiteFitted *fitted = check_calloc((size_t)site->head_count, sizeof *fitted);
    bool ok = read_fitted(site, json_root(document), fitted, err);
    json_free(document);
    if (!ok) {
        free(fitted);
        return false;
    }
    *out = fitted;
    return true;
}
