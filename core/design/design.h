/* design.h - the immutable design, as the solver reads it. */
#ifndef HEATLEDGER_DESIGN_INTERNAL_H
#define HEATLEDGER_DESIGN_INTERNAL_H

#include "diagnostic/arena.h"
#include "heatledger/design.h"
#include "heatledger/field.h"

/* Settings that belong to no stage or part. */
enum {
    SETTING_AMBIENT,   /* K */
    SETTING_ALTITUDE,  /* m */
    SETTING_VOLTAGE,   /* V, of the source */
    SETTING_FREQUENCY, /* Hz, 0 for dc */
    SETTING_LOAD,      /* 1, multiplies every port's current */
    SETTINGS_COMMON
};

typedef struct setting {
    const char *name;
    const hl_parameter *parameter;
    double value; /* NaN: not stated */
    hl_band band; /* central at value; its group is named as the whole design knows it */
} setting;

/* Values of a stage or a part, and which setting feeds each. */
typedef struct value_set {
    const hl_model *model;
    const hl_value *values; /* as described */
    const hl_band *bands;   /* of the values; NULL: none stated */
    size_t n;
    size_t *setting; /* index of the setting, SIZE_MAX: fixed (curves, lists) */
} value_set;

/* A link of the network that another part than the first changes. */
typedef struct link_change {
    int link;
    hl_link to;
} link_change;

/* A part that may stand in an item. */
typedef struct alternative {
    const hl_part *part;
    value_set set;
    const hl_value *commons;
    double heat_limit; /* K */
    link_change *changes;
    size_t n_changes;
} alternative;

/* As described; a workspace has its own copies, in which the chosen part stands. */
typedef struct design_item {
    hl_item shown;
    value_set set;
    const hl_value *commons; /* [HL_COMMONS] */
    int slot;                /* index in the stage, -1 for a bus capacitor */
    unsigned parallel, positions;
    double heat_limit;         /* K, maximum temperature; 0: unknown */
    alternative *alternatives; /* [0] is the part it was filled with */
    size_t n_alternatives;
    size_t part_setting; /* that chooses; SIZE_MAX: there is no choice */
    int outer;           /* node of its core or can when it states what is between, -1: one node */
} design_item;

typedef struct design_stage {
    const char *name;
    const hl_model *model;
    value_set set;
    int parent; /* -1: the source */
    int *children;
    size_t n_children;
    int *ports;
    size_t n_ports;
    int item[HL_SLOTS_MAX]; /* item in slot, -1: empty */
    int *capacitors;        /* items on the output bus */
    size_t n_capacitors;
    int asked_by; /* port whose voltage this stage's output follows, -1: none */
    int node;     /* where heat that belongs to no part goes, -1: nowhere */
    int n_nodes;  /* evenly into so many from there on: the quarters of a board */
} design_stage;

typedef struct design_port {
    const char *name;
    int stage;
    size_t voltage_setting, current_setting;
} design_port;

/* Highest temperature of a node, by whose rule. */
typedef struct design_limit {
    int node;
    const char *name;
    double rated; /* K */
} design_limit;

/* Share of a rating to be used, K to stay below a temperature; by a limit's name or kind. */
typedef struct draft_derating {
    const char *limit;
    double factor, margin;
} draft_derating;

/* A resistance of a part that stands in a fixed link of the network, or in one to each quarter of its board
 * that it stands on, as a setting. */
typedef struct heat_setting {
    size_t setting, item;
    int link, n_links;       /* the first; they follow one another */
    double described, count; /* K/W of one part as described; parts side by side */
} heat_setting;

struct hl_design {
    arena *memory;
    const char *name;
    bool alternating; /* fed from mains */
    setting *settings;
    size_t n_settings;
    design_stage *stages;
    size_t n_stages;
    int *order; /* leaves first: every stage after all its children; by model where none feeds another */
    size_t
        *abreast; /* of each place in that: stages from there on of one model that do not feed each other */
    design_item *items;
    size_t n_items;
    design_port *ports;
    size_t n_ports;
    hl_network *network;   /* NULL: no thermal description */
    int first_board_node;  /* by rule: the boards' own nodes follow the items' */
    int *first_piece;      /* by rule, of each board: the first node of its quarters, -1: it is one node */
    size_t n_ruled_boards; /* 0 without a box by rule */
    heat_setting *heat;
    size_t n_heat;
    hl_field *field; /* the box's condensed heat field; NULL: the links of the network carry the heat */
    hl_field_box *field_box; /* with a field: what it was made of */
    size_t *body;            /* with a field: which of its bodies each item is */
    double *inside;          /* with a field: K/W of each item from its hot spot to its body */
    double *leak;            /* with a field: W/K from each node straight to the surroundings, by hand */
    int first_board_body, first_board, first_face; /* with a field: body and nodes; faces, then their spots */
    hl_box box;                                    /* as described; boxed: there is one */
    bool boxed;
    design_limit *limits;
    size_t n_limits;
    draft_derating *deratings;
    size_t n_deratings;
};

#endif
