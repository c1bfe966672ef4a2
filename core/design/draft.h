/* draft.h - what a draft has collected; read by finish.c only. */
#ifndef HEATLEDGER_DRAFT_H
#define HEATLEDGER_DRAFT_H

#include "design/design.h"
#include "diagnostic/arena.h"
#include "heatledger/design.h"
#include "heatledger/limits.h"

/* An array that grows by doubling inside the draft's arena. */
typedef struct list {
    void *items;
    size_t n, room;
} list;

typedef struct draft_slot {
    const hl_part *part; /* NULL: empty */
    unsigned count;
    hl_place place;
    list alternatives; /* const hl_part *: others that a setting may put there */
} draft_slot;

typedef struct draft_capacitor {
    const char *label;
    const hl_part *part;
    unsigned count;
    hl_place place;
    list alternatives; /* const hl_part * */
} draft_capacitor;

typedef struct draft_stage {
    const char *name, *fed_by;
    const hl_model *model;
    hl_value *values;
    hl_band *bands;
    draft_slot slots[HL_SLOTS_MAX];
    list capacitors; /* draft_capacitor */
    hl_place place;
} draft_stage;

typedef struct draft_port {
    const char *name, *fed_by;
    double voltage, current;
    hl_place place;
} draft_port;

typedef struct draft_position {
    const char *item;
    hl_position position;
    hl_place place;
} draft_position;

typedef struct draft_board {
    hl_board board;
    hl_place place;
} draft_board;

typedef struct draft_spreader {
    hl_spreader spreader;
    hl_place place;
} draft_spreader;

typedef struct draft_node {
    const char *name;
    double capacity;
    hl_place place;
} draft_node;

typedef struct draft_link {
    const char *a, *b;
    hl_law law;
    int kind;
    double p[4];
    bool replaces; /* all links that join these ends so far */
    hl_place place;
} draft_link;

typedef struct draft_limit {
    const char *node; /* NULL: every outer patch of the case */
    const char *name;
    double temperature; /* K */
    hl_place place;
} draft_limit;

struct hl_draft {
    const hl_host *host;
    arena *memory;
    const char *name;
    bool has_source, has_box;
    double source_voltage, source_frequency;
    double ambient, altitude;
    hl_box box;
    hl_place box_place;
    list stages;     /* draft_stage */
    list ports;      /* draft_port */
    list boards;     /* draft_board */
    list spreaders;  /* draft_spreader */
    list positions;  /* draft_position */
    list nodes;      /* draft_node */
    list links;      /* draft_link */
    list limits;     /* draft_limit */
    list insulation; /* hl_insulation_class */
    const char *assumed_insulation;
    list deratings;         /* draft_derating */
    const double *foreseen; /* W, by item and then of all stages themselves; NULL: not known */
    size_t n_foreseen;      /* items and one */
    double foreseen_air;    /* K, of the air inside; 0: not known */
    bool starved;           /* memory ran out in the last hl_draft_finish */
};

/* Room for one more item of `size` bytes at the end, zeroed; NULL: no memory. */
void *list_add(arena *memory, list *items, size_t size);

#define LIST_AT(list_, type, index) (&((type *)(list_).items)[index])

/* Entry with this name, or NULL. */
draft_stage *draft_find_stage(const hl_draft *draft, const char *name);

#endif
