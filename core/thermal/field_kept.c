/* field_kept.c - condensed fields kept in files, named by a hash of the box they were made from.
 *
 * A file: header, numbers as they lie in memory, checksum.  It is written whole or not at all; the checksum
 * finds what a disk did to it since. Another machine's or version's file has another header and is made anew.
 */
#include "thermal/field_core.h"

#include "diagnostic/replace_file.h"
#include "quantity/float_state.h"
#include "thermal/field_box.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_ROOM = 1024, BLOCKS = 13, FORMAT = 5 };

/* FNV-1a, 64 bit (Fowler, Noll & Vo, draft-eastlake-fnv). */
static uint64_t hash(uint64_t seed, const void *data, size_t bytes)
{
    const unsigned char *at = data;
    for (size_t i = 0; i < bytes; i++) seed = (seed ^ at[i]) * UINT64_C(1099511628211);
    return seed;
}

static uint64_t hash_numbers(uint64_t seed, const double *list, size_t n)
{
    return hash(seed, list, n * sizeof *list);
}

static uint64_t hash_name(uint64_t seed, const char *name)
{
    return name ? hash(seed, name, strlen(name) + 1) : hash(seed, "", 1);
}

static uint64_t hash_block(uint64_t seed, const hl_field_block *b)
{
    const double rest[] = {b->density_heat, b->emissivity, b->heat, b->contact, (double)b->on};
    seed = hash_numbers(hash_name(seed, b->name), b->low, 3);
    seed = hash_numbers(hash_numbers(seed, b->high, 3), b->conductivity, 3);
    return hash_numbers(seed, rest, sizeof rest / sizeof rest[0]);
}

static uint64_t hash_board(uint64_t seed, const hl_field_board *b)
{
    const double rest[] = {(double)b->normal, b->conductivity_in, b->conductivity_through,
                           b->density_heat,   b->emissivity,      b->heat,
                           (double)b->n_zones};
    seed = hash_numbers(hash_numbers(hash_name(seed, b->name), b->low, 3), b->high, 3);
    seed = hash_numbers(seed, rest, sizeof rest / sizeof rest[0]);
    for (size_t z = 0; z < b->n_zones; z++) {
        const double k[] = {b->zones[z].conductivity_in, b->zones[z].conductivity_through};
        seed = hash_numbers(hash_numbers(seed, b->zones[z].low, 3), b->zones[z].high, 3);
        seed = hash_numbers(seed, k, 2);
    }
    return seed;
}

static uint64_t hash_film(uint64_t seed, const hl_field_film *f)
{
    const double list[] = {(double)f->below, (double)f->above, (double)f->axis, f->thickness};
    return hash_numbers(seed, list, sizeof list / sizeof list[0]);
}

static uint64_t hash_side(uint64_t seed, const hl_field_side *s)
{
    const double list[] = {(double)s->law, (double)s->orientation, s->length, s->coefficient,
                           s->emissivity,  s->air_speed,           s->along,  s->covered,
                           s->cover};
    return hash_numbers(seed, list, sizeof list / sizeof list[0]);
}

/* Of every number of the box, not of its bytes: those between members mean nothing. */
static uint64_t hash_box(const hl_field_box *box)
{
    const double rest[] = {box->shell,
                           box->shell_conductivity,
                           box->shell_density_heat,
                           box->shell_emissivity,
                           box->fill_conductivity,
                           box->fill_density_heat,
                           (double)box->potted,
                           (double)box->still,
                           (double)box->n_boards,
                           (double)box->n_blocks,
                           (double)box->n_spreaders,
                           (double)box->n_films,
                           box->surroundings.temperature,
                           box->surroundings.pressure,
                           box->fineness,
                           (double)box->warm};
    uint64_t seed = hash_numbers(UINT64_C(14695981039346656037), box->size, 3);
    seed = hash_numbers(seed, rest, sizeof rest / sizeof rest[0]);
    for (int face = 0; face < HL_FACES; face++) seed = hash_side(seed, &box->sides[face]);
    for (int body = 0; body < field_bodies(box); body++) {
        const hl_field_block *block = field_block(box, body);
        seed = block ? hash_block(seed, block) : hash_board(seed, field_board(box, body));
    }
    for (size_t i = 0; i < box->n_films; i++) seed = hash_film(seed, &box->films[i]);
    return seed;
}

/* ------------------------------------------------------------------ file -- */

typedef struct file_header {
    char magic[8];
    uint32_t format, size_of_field;
    uint64_t box;
    hl_field body; /* its numbers; its pointers mean nothing */
} file_header;

typedef struct file_block {
    void *at;
    size_t bytes;
} file_block;

static void blocks_of(hl_field *f, file_block blocks[BLOCKS])
{
    size_t p = (size_t)f->n_ports, r = (size_t)f->n_rows, s = (size_t)f->n_spots;
    blocks[0] = (file_block){f->ports.patches, (size_t)f->ports.n_patches * sizeof *f->ports.patches};
    blocks[1] = (file_block){f->names, (size_t)f->ports.bodies * sizeof *f->names};
    blocks[2] = (file_block){f->linear.outward, (size_t)f->ports.n_patches * sizeof(double)};
    blocks[3] = (file_block){f->nominal, p * sizeof(double)};
    blocks[4] = (file_block){f->impedance, r * p * sizeof(double)};
    blocks[5] = (file_block){f->spots, s * sizeof *f->spots};
    blocks[6] = (file_block){f->spot_row, s * p * sizeof(double)};
    const field_modes *modes = &f->modes;
    size_t n = (size_t)modes->n;
    blocks[7] = (file_block){modes->rate, n * sizeof(double)};
    blocks[8] = (file_block){modes->row, n * r * sizeof(double)};
    blocks[9] = (file_block){modes->spot, n * s * sizeof(double)};
    blocks[10] = (file_block){modes->stored, n * sizeof(double)};
    blocks[11] = (file_block){modes->in, n * p * sizeof(double)};
    blocks[12] = (file_block){modes->own, n ? (size_t)f->ports.n_patches * sizeof(double) : 0};
}

static void head(file_header *header, uint64_t box)
{
    memset(header, 0, sizeof *header);
    memcpy(header->magic, "hlfield", 8);
    header->format = FORMAT;
    header->size_of_field = (uint32_t)sizeof(hl_field);
    header->box = box;
}

/* Lay it out in memory: header, blocks, checksum.  NULL: no memory. */
static unsigned char *lay_out(hl_field *field, uint64_t box, size_t *length)
{
    file_block blocks[BLOCKS];
    file_header header;
    head(&header, box);
    memcpy(&header.body, field, sizeof *field);
    blocks_of(field, blocks);
    size_t at = sizeof header, whole = at + sizeof(uint64_t);
    for (int i = 0; i < BLOCKS; i++) whole += blocks[i].bytes;
    unsigned char *bytes = malloc(whole);
    if (!bytes) return NULL;
    memcpy(bytes, &header, sizeof header);
    for (int i = 0; i < BLOCKS; i++) {
        if (blocks[i].bytes > 0) memcpy(bytes + at, blocks[i].at, blocks[i].bytes);
        at += blocks[i].bytes;
    }
    uint64_t sum = hash(box, bytes, at);
    memcpy(bytes + at, &sum, sizeof sum);
    *length = whole;
    return bytes;
}

/* A folder that cannot be written to is no error: the field is made anew the next time. */
static void keep(hl_field *field, uint64_t box, const char *path)
{
    char why[PATH_ROOM];
    size_t length;
    unsigned char *bytes = lay_out(field, box, &length);
    if (bytes) (void)hl_replace_file(path, bytes, length, why, sizeof why);
    free(bytes);
}

static bool counts_are_sane(const hl_field *f)
{
    const field_ports *p = &f->ports;
    return p->bodies > 0 && p->bodies <= 1024 && p->n_patches > 0 && p->n_patches <= 6 * 36 &&
           p->n_groups >= 0 && p->n_groups <= PAIR_GROUPS_MAX && f->n_ports == ports_count(p) &&
           f->n_rows == ports_rows(p) && f->n_spots >= 0 && f->n_spots <= 1 << 21 && f->modes.n >= 0 &&
           f->modes.n <= 1 << 14;
}

/* A field with room for what the header counts. */
static hl_field *allocate_like(const file_header *header)
{
    field_ports ports = header->body.ports;
    ports.patches = calloc((size_t)ports.n_patches + 1, sizeof *ports.patches);
    hl_field *field = ports.patches ? field_allocate(&ports, header->body.n_spots) : NULL;
    if (!field) {
        free(ports.patches);
        return NULL;
    }
    int modes = header->body.modes.n;
    if (modes > 0 && !modes_allocate(&field->modes, modes, &ports, field->n_spots)) {
        hl_field_destroy(field);
        return NULL;
    }
    memcpy(field->sides, header->body.sides, sizeof field->sides);
    field->surroundings = header->body.surroundings;
    field->still = header->body.still;
    field->fill_conductivity = header->body.fill_conductivity;
    field->up = header->body.up;
    field->facts = header->body.facts;
    field->facts.seconds = 0;
    double *outward = field->linear.outward;
    field->linear = header->body.linear;
    field->linear.outward = outward;
    return field;
}

/* NULL: not whole, or not of this box. */
static hl_field *read_all(FILE *file, uint64_t box)
{
    file_header header, wanted;
    head(&wanted, box);
    if (fread(&header, sizeof header, 1, file) != 1) return NULL;
    if (memcmp(&header, &wanted, offsetof(file_header, body)) != 0 || !counts_are_sane(&header.body))
        return NULL;
    hl_field *field = allocate_like(&header);
    if (!field) return NULL;
    file_block blocks[BLOCKS];
    blocks_of(field, blocks);
    uint64_t sum = hash(box, &header, sizeof header), stored = 0;
    bool good = true;
    for (int i = 0; good && i < BLOCKS; i++) {
        good = blocks[i].bytes == 0 || fread(blocks[i].at, blocks[i].bytes, 1, file) == 1;
        if (good) sum = hash(sum, blocks[i].at, blocks[i].bytes);
    }
    good = good && fread(&stored, sizeof stored, 1, file) == 1 && stored == sum;
    if (good) return field;
    hl_field_destroy(field);
    return NULL;
}

hl_field *hl_field_create_kept(const hl_field_box *box, const char *folder, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    char path[PATH_ROOM];
    if (!field_box_is_sound(box, diagnostics)) return NULL;
    uint64_t key = hash_box(box);
    int length = snprintf(path, sizeof path, "%s/%016llx.field", folder, (unsigned long long)key);
    bool usable = length > 0 && length < PATH_ROOM;
    FILE *file = usable ? fopen(path, "rb") : NULL;
    if (file) {
        hl_field *field = read_all(file, key);
        fclose(file);
        if (field) return field;
        hl_diagnostics_add(diagnostics, HL_WARNING, NULL,
                           "field: %s is damaged or of another version; it is made anew", path);
    }
    hl_field *made = hl_field_create(box, diagnostics);
    if (made && usable) keep(made, key, path);
    return made;
}
