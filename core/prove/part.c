#include "prove/part.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "prove/allocations.h"
#include "prove/older_host.h"

/* More is taken for a slip: a part is some numbers and tables. */
static const size_t state_most = (size_t)1 << 26;

bool part_create(trial *t, part *p)
{
    *p = (part){0};
    p->asked = calloc(t->model->n_parameters + 1, sizeof *p->asked);
    if (p->asked && drawn_values_create(&p->drawn, t->model)) return true;
    part_destroy(p);
    return trial_fail(t, "memory ran out");
}

void part_destroy(part *p)
{
    drawn_values_destroy(&p->drawn);
    guarded_destroy(&p->state);
    free(p->asked);
    free(p->kept);
    *p = (part){0};
}

static size_t values_size(const part *p)
{
    return p->drawn.model->n_parameters * sizeof *p->asked;
}

/* What must not have changed in a call, whichever it was. */
static void inspect(trial *t, const part *p, const char *function)
{
    long breach = guarded_breach(&p->state);
    if (breach)
        trial_overrun(t,
                      "%s() writes %ld byte%s %s its state of %zu bytes; state_size() must count all it uses",
                      function, labs(breach), labs(breach) == 1 ? "" : "s",
                      breach > 0 ? "past the end of" : "before the start of", p->state.size);
    if (memcmp(p->asked, p->drawn.values, values_size(p)))
        trial_overrun(t, "%s() writes to the values it was handed", function);
    if (p->kept && p->state.size && memcmp(p->kept, p->state.memory, p->state.size))
        trial_overrun(t, "%s() changes the prepared state; only prepare() may write to it", function);
}

prepared part_prepare(trial *t, part *p)
{
    const hl_device *device = t->model->device;
    guarded_destroy(&p->state);
    free(p->kept);
    p->kept = NULL;
    memset(&p->reason, 0, sizeof p->reason);
    memcpy(p->asked, p->drawn.values, values_size(p));
    t->now = (given){.function = "state_size", .values = p->drawn.values};
    size_t size = device->state_size(p->drawn.values);
    if (size > state_most) {
        trial_fail(t, "state_size() asks for %zu bytes for one part; at most %zu are given", size,
                   state_most);
        return BROKEN;
    }
    if (!guarded_create(&p->state, size)) {
        trial_fail(t, "memory ran out");
        return BROKEN;
    }
    t->now.function = "prepare";
    size_t before = allocations_counted();
    bool accepted = device->prepare(p->state.memory, p->drawn.values, &p->reason);
    t->allocated += allocations_counted() - before;
    inspect(t, p, "prepare");
    if (!accepted) return REFUSED;
    p->kept = malloc(size + 1);
    if (!p->kept) {
        trial_fail(t, "memory ran out");
        return BROKEN;
    }
    memcpy(p->kept, p->state.memory, size);
    return PREPARED;
}

bool part_draw(trial *t, part *p, draw_mode mode)
{
    enum { DRAWS = 4000, PATIENCE = 200 };
    for (int i = 0; i < DRAWS; i++) {
        if (i == PATIENCE) mode = DRAW_SOME; /* a model may want one of several values, whichever */
        drawn_values_draw(&p->drawn, &t->luck, mode);
        prepared how = part_prepare(t, p);
        if (how == PREPARED) return true;
        if (how == BROKEN) return false;
        if (i % 100 == 0) trial_beat(t);
    }
    return trial_fail(
        t,
        "prepare() refused all of %d random parts from its own plausible ranges; the last reason: "
        "%.200s",
        (int)DRAWS, p->reason.text);
}

/* An output with marked ground behind it. */
#define BEHIND 64
static void mark(unsigned char ground[BEHIND])
{
    memset(ground, 0x5A, BEHIND);
}

static void inspect_output(trial *t, const unsigned char ground[BEHIND], const char *function)
{
    for (size_t i = 0; i < BEHIND; i++)
        if (ground[i] != 0x5A) {
            trial_overrun(t, "%s() writes %zu bytes past the end of what it is to fill", function, i + 1);
            return;
        }
}

void part_loss(trial *t, const part *p, const hl_stress *stress, double temperature, hl_loss *out)
{
    struct {
        hl_loss loss;
        unsigned char ground[BEHIND];
    } room;
    hl_stress copy = *stress;
    memset(&room.loss, 0, sizeof room.loss);
    mark(room.ground);
    room.loss.struct_size = sizeof room.loss;
    t->now = (given){.function = "loss",
                     .values = p->drawn.values,
                     .stress = stress,
                     .figures = AT_TEMPERATURE,
                     .temperature = temperature};
    size_t before = allocations_counted();
    t->model->device->loss(p->state.memory, stress, temperature, &room.loss);
    t->allocated += allocations_counted() - before;
    inspect(t, p, "loss");
    inspect_output(t, room.ground, "loss");
    if (memcmp(&copy, stress, sizeof copy)) trial_overrun(t, "loss() writes to the stress it was handed");
    *out = room.loss;
}

double part_watts(const hl_loss *loss)
{
    double sum = 0.0;
    for (int m = 0; m < HL_MECHANISMS; m++) sum += loss->watts[m];
    return sum;
}

void part_present(trial *t, const part *p, double temperature, double voltage, hl_terminal *out)
{
    struct {
        hl_terminal terminal;
        unsigned char ground[BEHIND];
    } room;
    size_t reach = older_terminal_size(t->host);
    memset(&room.terminal, OLDER_MARK, sizeof room.terminal);
    mark(room.ground);
    memset(&room.terminal, 0, reach);
    room.terminal.struct_size = (uint32_t)reach;
    t->now = (given){.function = "present",
                     .values = p->drawn.values,
                     .figures = AT_TEMPERATURE | AT_VOLTAGE,
                     .temperature = temperature,
                     .voltage = voltage};
    size_t before = allocations_counted();
    t->model->device->present(p->state.memory, temperature, voltage, &room.terminal);
    t->allocated += allocations_counted() - before;
    inspect(t, p, "present");
    inspect_output(t, room.ground, "present");
    older_host_inspect(t, &room.terminal, reach, sizeof room.terminal, "present");
    *out = room.terminal;
}

size_t part_limits(trial *t, const part *p, const hl_stress *stress, double temperature, hl_limit limits[])
{
    struct {
        hl_limit limit[HL_LIMITS_MAX];
        unsigned char ground[BEHIND];
    } room;
    memset(&room, 0, sizeof room);
    mark(room.ground);
    t->now = (given){.function = "limits",
                     .values = p->drawn.values,
                     .stress = stress,
                     .figures = AT_TEMPERATURE,
                     .temperature = temperature};
    size_t before = allocations_counted();
    size_t n = t->model->device->limits(p->state.memory, stress, temperature, room.limit);
    t->allocated += allocations_counted() - before;
    inspect(t, p, "limits");
    inspect_output(t, room.ground, "limits");
    memcpy(limits, room.limit, sizeof room.limit);
    return n;
}

void part_impedance(trial *t, const part *p, double temperature, double voltage, double frequency,
                    double *real, double *imaginary)
{
    *real = *imaginary = 0.0;
    t->now = (given){.function = "impedance",
                     .values = p->drawn.values,
                     .figures = AT_TEMPERATURE | AT_VOLTAGE | AT_FREQUENCY,
                     .temperature = temperature,
                     .voltage = voltage,
                     .frequency = frequency};
    size_t before = allocations_counted();
    t->model->device->impedance(p->state.memory, temperature, voltage, frequency, real, imaginary);
    t->allocated += allocations_counted() - before;
    inspect(t, p, "impedance");
}

void part_impedances(trial *t, const part *p, double temperature, double voltage, const double frequency[],
                     size_t n, double real[], double imaginary[])
{
    struct {
        double figures[PART_FREQUENCIES];
        unsigned char ground[BEHIND];
    } room[2]; /* what it is to fill ends where the ground begins */
    double *filled[2];
    for (int i = 0; i < 2; i++) {
        memset(room[i].figures, 0, sizeof room[i].figures);
        mark(room[i].ground);
        filled[i] = room[i].figures + PART_FREQUENCIES - n;
    }
    t->now = (given){.function = "impedances",
                     .values = p->drawn.values,
                     .figures = AT_TEMPERATURE | AT_VOLTAGE,
                     .temperature = temperature,
                     .voltage = voltage};
    size_t before = allocations_counted();
    t->model->device->impedances(p->state.memory, temperature, voltage, frequency, n, filled[0], filled[1]);
    t->allocated += allocations_counted() - before;
    inspect(t, p, "impedances");
    for (int i = 0; i < 2; i++) inspect_output(t, room[i].ground, "impedances");
    memcpy(real, filled[0], n * sizeof *real);
    memcpy(imaginary, filled[1], n * sizeof *imaginary);
}
