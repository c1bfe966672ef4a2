/* field_result.c - what a condensed field tells of its last solution. */
#include "thermal/field_core.h"

#include <math.h>
#include <string.h>

size_t hl_field_bodies(const hl_field *field)
{
    return (size_t)field->ports.bodies;
}

const char *hl_field_body_name(const hl_field *field, size_t body)
{
    return body < (size_t)field->ports.bodies ? field->names[body] : NULL;
}

size_t hl_field_patches(const hl_field *field)
{
    return (size_t)field->ports.n_patches;
}

void hl_field_facts_of(const hl_field *field, hl_field_facts *facts)
{
    *facts = field->facts;
}

void hl_field_book(const hl_field_work *work, double *in, double *out)
{
    *in = work->in;
    *out = work->out;
}

static double patch_heat(const hl_field_work *work, int patch)
{
    const hl_field *field = work->field;
    int row = field->ports.bodies + patch;
    double linear = field->ports.patches[patch].area * field->linear.outward[patch] * work->rise[row];
    return linear - work->port[row]; /* a patch's port and row have the same number */
}

void hl_field_patch_of(const hl_field_work *work, size_t patch, hl_field_patch *out)
{
    const port_patch *p = &work->field->ports.patches[patch];
    out->face = p->face;
    memcpy(out->low, p->low, sizeof out->low);
    memcpy(out->high, p->high, sizeof out->high);
    out->mean = work->surroundings.temperature + work->rise[work->field->ports.bodies + (int)patch];
    out->heat = patch_heat(work, (int)patch);
}

static void face_means(const hl_field_work *work, hl_field_face faces[])
{
    const field_ports *p = &work->field->ports;
    for (int face = 0; face < HL_FACES; face++) {
        double sum = 0, area = 0, heat = 0;
        for (int k = p->first_patch[face]; k < p->first_patch[face + 1]; k++) {
            sum += p->patches[k].area * work->rise[p->bodies + k];
            area += p->patches[k].area;
            heat += patch_heat(work, k);
        }
        faces[face].mean = work->surroundings.temperature + sum / area;
        faces[face].heat = heat;
    }
}

/* Out of the rises at the followed places: the hottest of each. */
void field_pick_spots(const hl_field_work *work, const double spot_rise[], hl_field_spot hottest[],
                      hl_field_face faces[])
{
    const hl_field *field = work->field;
    int bodies = field->ports.bodies;
    double ambient = work->surroundings.temperature;
    for (int i = 0; hottest && i < bodies; i++)
        hottest[i] = (hl_field_spot){ambient + work->rise[i], {0, 0, 0}};
    if (faces) face_means(work, faces);
    for (int face = 0; faces && face < HL_FACES; face++) faces[face].hottest.temperature = -INFINITY;
    for (int i = 0; i < field->n_spots; i++) {
        const field_spot *spot = &field->spots[i];
        bool of_body = spot->owner < bodies;
        hl_field_spot *best = of_body ? (hottest ? &hottest[spot->owner] : NULL)
                                      : (faces ? &faces[spot->owner - bodies].hottest : NULL);
        if (!best || !(ambient + spot_rise[i] > best->temperature)) continue;
        best->temperature = ambient + spot_rise[i];
        memcpy(best->place, spot->place, sizeof best->place);
    }
}

void hl_field_spots(const hl_field_work *work, hl_field_spot hottest[], hl_field_face faces[])
{
    const hl_field *field = work->field;
    double *rise = work->scratch;
    memset(rise, 0, (size_t)field->n_spots * sizeof *rise);
    field_multiply(field->n_spots, field->n_ports, field->spot_row, work->port, rise);
    field_pick_spots(work, rise, hottest, faces);
}
