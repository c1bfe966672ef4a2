/* fuzz_table.c - a plugin's table, wrong in ways no compiler stops: through the checks of the loader.
 *
 * The input is read as a stream of small choices: each field is mostly what a sound plugin has, and now and
 * then whatever the stream says.  Texts and pointers come from a pool that includes NULL, since a pointer to
 * nowhere is beyond what any check can tell. */
#include <string.h>

#include "heatledger/catalogue.h"
#include "heatledger/quantity.h"
#include "plugin/table.h"
#include "target.h"

static const uint8_t *at, *end;

static uint8_t byte(void)
{
    return at < end ? *at++ : 0;
}

static uint64_t wide(void)
{
    uint64_t all = 0;
    for (int i = 0; i < 8; i++) all = all << 8 | byte();
    return all;
}

/* One time in sixteen, while the stream lasts. */
static int wrong(void)
{
    return (byte() & 15) == 1;
}

static const char *text(const char *sound)
{
    static char long_word[300];
    static const char *const pool[] = {NULL,         "",       "a",       "A",
                                       "resistance", "1x",     "_",       "x-y",
                                       long_word,    "ohm",    "W/(m K)", "plain_resistor",
                                       "\xff\xfe",   "%s%n%d", "degC",    "furlong"};
    if (!long_word[0]) memset(long_word, 'w', sizeof long_word - 1);
    return wrong() ? pool[byte() % (sizeof pool / sizeof *pool)] : sound;
}

static size_t count(size_t sound)
{
    return wrong() ? (byte() & 1 ? (size_t)wide() : (size_t)byte()) : sound;
}

static double number(double sound)
{
    double any;
    uint64_t bits = wrong() ? wide() : 0;
    memcpy(&any, &bits, sizeof any);
    return bits ? any : sound;
}

static size_t state_size(const hl_value *values)
{
    (void)values;
    return 8;
}
static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    (void)state, (void)values, (void)reason;
    return true;
}
static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)state, (void)temperature, (void)voltage, (void)terminal;
}
static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    (void)state, (void)stress, (void)temperature, (void)out;
}
static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit out[])
{
    (void)state, (void)stress, (void)temperature, (void)out;
    return 0;
}
static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    (void)in, (void)out;
    return HL_STAGE_SOLVED;
}

enum { ROWS = 4, MODELS = 3, ROOM = 520 * 256 };

static const char *const words[] = {"yes", "no", NULL}, *const none[] = {NULL}, *const hollow[] = {"", NULL};

static const char *const *choices(int kind)
{
    const char *const *const pool[] = {NULL, words, none, hollow};
    if (wrong()) return pool[byte() % 4];
    return kind == HL_CHOICE || kind == HL_CHOICES ? words : NULL;
}

/* Rows of the size the table claims, so far as memory is there for them. */
static void fill_parameters(hl_model *model, unsigned char *memory)
{
    static const char *const names[ROWS] = {"resistance", "power", "kind", "length"};
    model->n_parameters = count(byte() % (ROWS + 1));
    model->parameter_size = count(sizeof(hl_parameter));
    model->parameters = wrong() ? NULL : (const hl_parameter *)memory;
    size_t size = model->parameter_size;
    bool fits = model->n_parameters <= 512 && size <= 65536 && model->n_parameters * size <= ROOM;
    if (fits) memset(memory, 0, model->n_parameters * size);
    if (!fits && model->n_parameters <= 512 && size <= 65536)
        model->parameters = NULL; /* a lie no check sees */
    for (size_t i = 0; fits && size >= sizeof(hl_parameter) && i < model->n_parameters; i++) {
        hl_parameter row = {0};
        row.name = text(names[i % ROWS]);
        row.kind = wrong() ? byte() : byte() % 5;
        row.dimension = text("ohm");
        row.x_dimension = text(row.kind == HL_CURVE ? "K" : NULL);
        row.flags = wrong() ? (uint32_t)wide() : byte() % 3;
        row.fallback = number(1.0);
        row.low = number(0.5);
        row.high = number(2.0);
        row.choices = choices(row.kind);
        row.meaning = text("What it is.");
        row.source = text("marking");
        memcpy(memory + i * size, &row, sizeof row);
    }
}

static void fill_slots(hl_stage *stage, unsigned char *memory)
{
    static const char *const names[ROWS] = {"switch", "diode", "capacitor", "choke"};
    stage->n_slots = count(byte() % (ROWS + 1));
    stage->slot_size = count(sizeof(hl_slot));
    stage->slots = wrong() ? NULL : (const hl_slot *)memory;
    size_t size = stage->slot_size;
    bool fits = stage->n_slots <= HL_SLOTS_MAX && size <= 65536 && stage->n_slots * size <= ROOM;
    if (fits) memset(memory, 0, stage->n_slots * size);
    if (!fits && stage->n_slots <= HL_SLOTS_MAX && size <= 65536) stage->slots = NULL;
    for (size_t i = 0; fits && size >= sizeof(hl_slot) && i < stage->n_slots; i++) {
        hl_slot row = {0};
        row.name = text(names[i % ROWS]);
        row.families = wrong() ? (uint32_t)wide() : 1;
        row.flags = wrong() ? (uint32_t)wide() : byte() & 1;
        row.positions = (unsigned)count(1);
        row.meaning = text("Where it stands.");
        memcpy(memory + i * size, &row, sizeof row);
    }
}

/* What is said to be sound must then be safe to read as the rest of the program reads it. */
static void read_as_host(const hl_plugin *table)
{
    for (size_t i = 0; i < table->n_models; i++) {
        const hl_model *m = table->models[i];
        MUST(m && m->name[0] && m->source[0] && !m->device != !m->stage);
        for (size_t k = 0; k < m->n_parameters; k++) {
            const hl_parameter *p = hl_model_parameter(m, k);
            hl_dimension dimension;
            bool chosen = p->kind == HL_CHOICE || p->kind == HL_CHOICES;
            MUST(p->name[0] && p->meaning[0] && p->low <= p->high);
            if (chosen)
                MUST(p->choices && p->choices[0]);
            else
                MUST(hl_dimension_of(p->dimension, &dimension));
        }
        for (size_t k = 0; m->stage && k < m->stage->n_slots; k++) MUST(hl_stage_slot(m->stage, k)->name[0]);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static unsigned char rows[MODELS][ROOM] __attribute__((aligned(16)));
    static const char *const names[MODELS] = {"plain_resistor", "plain_wire", "third"};
    at = data;
    end = data + size;
    hl_model models[MODELS];
    hl_device devices[MODELS];
    hl_stage stages[MODELS];
    const hl_model *list[MODELS];
    for (size_t i = 0; i < MODELS; i++) {
        devices[i] = (hl_device){.struct_size = (uint32_t)count(sizeof(hl_device)),
                                 .family = wrong() ? byte() : HL_FAMILY_RESISTOR,
                                 .state_size = wrong() ? NULL : state_size,
                                 .prepare = wrong() ? NULL : prepare,
                                 .present = wrong() ? NULL : present,
                                 .loss = wrong() ? NULL : loss,
                                 .limits = wrong() ? NULL : limits};
        memset(&stages[i], 0, sizeof stages[i]);
        stages[i].struct_size = (uint32_t)count(sizeof(hl_stage));
        stages[i].input = wrong() ? byte() : HL_DC;
        stages[i].memory_size = count(64);
        stages[i].scratch_size = count(4096);
        stages[i].solve = wrong() ? NULL : solve;
        memset(&models[i], 0, sizeof models[i]);
        models[i].struct_size = (uint32_t)count(sizeof(hl_model));
        models[i].name = text(names[i]);
        models[i].title = text("a title");
        models[i].source = text("a book");
        bool device = byte() & 1, both = wrong();
        if (device || both) models[i].device = &devices[i];
        if (!device || both) models[i].stage = &stages[i];
        if (device)
            fill_parameters(&models[i], rows[i]);
        else
            fill_slots(&stages[i], rows[i]);
        list[i] = wrong() ? NULL : &models[i];
    }
    hl_plugin table = {.struct_size = (uint32_t)count(sizeof(hl_plugin)),
                       .abi = (uint32_t)count(HL_PLUGIN_ABI)};
    table.name = text("made up");
    table.version = text("1");
    table.author = text("nobody");
    table.licence = text("public domain");
    table.n_models =
        wrong() ? ((byte() & 1) ? 1025 + (size_t)(wide() % 5000) : (size_t)0) : (size_t)(1 + byte() % MODELS);
    table.models = wrong() ? NULL : list;
    hl_diagnostics *said = hl_diagnostics_create();
    MUST(said);
    report r = {said, HL_ERROR, {"table", 0, 0}, 0};
    bool sound = table_sound(&table, &r);
    MUST(sound == (r.count == 0));
    if (sound) read_as_host(&table);
    hl_diagnostics_destroy(said);
    return 0;
}
