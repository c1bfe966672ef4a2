/* thermal.h - networks of heat: nodes, capacities, links that are laws.
 * Part of the host interface: include heatledger.h.
 *
 * Build once (create, nodes, links), then solve any number of times; a network
 * is constant while solving and may be shared by threads, each with its own
 * hl_network_work.  Temperatures in kelvin, powers in W. */
#ifndef HEATLEDGER_THERMAL_H
#define HEATLEDGER_THERMAL_H

#include <stdbool.h>
#include <stddef.h>

#include "heatledger/status.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct hl_network hl_network;
typedef struct hl_network_work hl_network_work;

enum { HL_AMBIENT = -1 }; /* link end: the surroundings */

typedef enum hl_orientation { HL_VERTICAL, HL_FACING_UP, HL_FACING_DOWN } hl_orientation;

/* The law of a link; q flows from a to b, W. */
typedef enum hl_law {
    HL_LAW_FIXED,     /* q = g (Ta - Tb); p[0] = g, W/K */
    HL_LAW_POWER,     /* q = c A |dT|^n dT; p = {c, A, n} */
    HL_LAW_RADIATION, /* q = sigma eps A (Ta^4 - Tb^4); p = {eps, A} */
    HL_LAW_NATURAL, /* open surface a to air b by orientation: p = {A, characteristic length, air speed m/s or
                       0, length along that flow}; kind = hl_orientation of the surface */
    HL_LAW_GAP,    /* enclosed air layer: p = {A, gap width, layer height}; kind = hl_orientation of side a */
    HL_LAW_FORCED, /* p = {A, length along the flow, air speed m/s} */
} hl_law;

typedef struct hl_link {
    int a, b; /* node index, or HL_AMBIENT */
    hl_law law;
    int kind;
    double p[4];
} hl_link;

HL_EXPORT hl_network *hl_network_create(void); /* NULL: no memory */
HL_EXPORT void hl_network_destroy(hl_network *network);
/* Index of the new node, or -1 when memory ran out. capacity in J/K, >= 0. Name is copied. */
HL_EXPORT int hl_network_add_node(hl_network *network, const char *name, double capacity);
/* Index of the new link, or -1: ends out of range, equal, or a parameter not finite or negative. */
HL_EXPORT int hl_network_add_link(hl_network *network, const hl_link *link);
HL_EXPORT size_t hl_network_nodes(const hl_network *network);
HL_EXPORT size_t hl_network_links(const hl_network *network);
HL_EXPORT const char *hl_network_node_name(const hl_network *network, int node);
HL_EXPORT const hl_link *hl_network_link(const hl_network *network, int link);
/* Every node must reach ambient: names one that does not in diagnostics. */
HL_EXPORT hl_status hl_network_check(const hl_network *network, hl_diagnostics *diagnostics);

/* Surroundings of one solution. */
typedef struct hl_surroundings {
    double temperature; /* K */
    double pressure;    /* Pa; 101325 at sea level, see hl_air_pressure */
} hl_surroundings;

/* Heat put into each node as a function of all temperatures and time, and its own derivative:
 * fills power[n] (W) and slope[n] (dP_i/dT_i, W/K). Steady solutions pass time = 0. */
typedef void (*hl_heat)(void *context, double time, const double temperature[], double power[],
                        double slope[]);

HL_EXPORT hl_network_work *hl_network_work_create(const hl_network *network);
HL_EXPORT void hl_network_work_destroy(hl_network_work *work);

/* Steady temperatures by damped Newton.
 *   temperature  [n] K, in: first guess (or ambient); out: solution
 *   HL_RUNAWAY   no solution below 2000 K was found (losses outrun the network)
 * Residual of every node below 1e-9 W or 1e-12 of the total heat. Allocates nothing. */
HL_EXPORT hl_status hl_network_steady(hl_network_work *work, const hl_surroundings *surroundings,
                                      hl_heat heat, void *context, double temperature[]);

/* Heat along every link at these temperatures, W from a to b. */
HL_EXPORT void hl_network_flows(const hl_network *network, const hl_surroundings *surroundings,
                                const double temperature[], double flow[]);

/* Feedback gain: largest eigenvalue of (d link heat/dT)^-1 diag(slope) at these temperatures;
 * below 1 the point is stable. *leader (may be NULL) = node with the largest share. */
HL_EXPORT double hl_network_gain(hl_network_work *work, const hl_surroundings *surroundings,
                                 const double temperature[], const double slope[], int *leader);

/* Warm-up from start[] (K): temperature[k*n+i] at times[k] (s, rising). CVODE, relative tolerance
 * 1e-9.  *energy (may be NULL): [0] heat put in, [1] handed out, [2] stored, J. */
HL_EXPORT hl_status hl_network_transient(const hl_network *network, const hl_surroundings *surroundings,
                                         hl_heat heat, void *context, const double start[], size_t n_times,
                                         const double times[], double temperature[], double energy[3]);

/* Time at which the hottest node first reaches limit (K); infinity when it never does before `end`. */
HL_EXPORT hl_status hl_network_time_to(const hl_network *network, const hl_surroundings *surroundings,
                                       hl_heat heat, void *context, const double start[], double limit,
                                       double end, double *time);

/* Heat scaled by a load factor s.  Follow the stable branch up to where the gain reaches one.
 *   heat_at      as hl_heat with the factor as last argument
 *   *critical    load factor there; infinity when none below `most`
 *   temperature  [n] at the fold (undefined when the temperatures go to infinity instead)
 *   *leader      node that leads */
typedef void (*hl_heat_at)(void *context, double factor, const double temperature[], double power[],
                           double slope[]);
HL_EXPORT hl_status hl_network_critical(hl_network_work *work, const hl_surroundings *surroundings,
                                        hl_heat_at heat_at, void *context, double most, double *critical,
                                        double temperature[], int *leader);

/* Dry air: properties at film temperature (K) and pressure (Pa), with source in air.c. */
typedef struct hl_air {
    double conductivity; /* W/(m K) */
    double kinematic;    /* m^2/s */
    double diffusivity;  /* m^2/s */
    double prandtl;
    double expansion;              /* 1/K */
    double density, heat_capacity; /* kg/m^3, J/(kg K) */
} hl_air;
HL_EXPORT void hl_air_at(double temperature, double pressure, hl_air *air);
HL_EXPORT double hl_air_pressure(double altitude_m); /* Pa, standard atmosphere */

/* Heat-transfer coefficients, W/(m^2 K); *outside (may be NULL) = correlation out of its range. */
HL_EXPORT double hl_natural_coefficient(hl_orientation orientation, double surface, double air,
                                        double pressure, double length, bool *outside);
HL_EXPORT double hl_gap_coefficient(hl_orientation hot_side, double hot, double cold, double pressure,
                                    double gap, double height, bool *outside);
HL_EXPORT double hl_forced_coefficient(double surface, double air, double pressure, double length,
                                       double speed, bool *outside);

/* ------------------------------------------------------------- enclosure -- */

/* A sealed box described by geometry; rule-of-thumb or condensed networks are built from it. */
typedef enum hl_face {
    HL_FACE_X0,
    HL_FACE_X1,
    HL_FACE_Y0,
    HL_FACE_Y1,
    HL_FACE_Z0,
    HL_FACE_Z1,
    HL_FACES
} hl_face;

HL_EXPORT const char *hl_face_name(hl_face face); /* "x0" ... "z1" */

/* A plate or foil that lies on the inner side of a wall and spreads what reaches it there. */
typedef struct hl_lining {
    double low[3], high[3]; /* m, corners in the box's outer coordinates */
    double sheet;           /* W/K, conductivity times thickness; 0 = none */
} hl_lining;

typedef struct hl_box {
    double size[3];           /* m, outer */
    double wall;              /* m */
    double wall_conductivity; /* W/(m K) */
    double wall_density_heat; /* J/(m^3 K) */
    double emissivity_outside, emissivity_inside;
    bool potted;                /* filled; otherwise air */
    double fill_conductivity;   /* W/(m K), potting */
    double fill_density_heat;   /* J/(m^3 K) */
    hl_face up;                 /* the face that looks up */
    double covered[HL_FACES];   /* fraction of each face that touches a table, wall or blanket */
    double cover_conductance;   /* W/(m^2 K) into what covers it */
    double air_speed;           /* m/s outside; 0 = still */
    bool by_field;              /* the heat field is solved and condensed (field.h); false: links by rule */
    hl_lining lining[HL_FACES]; /* for links by rule; the field takes spreaders where they are */
} hl_box;

typedef struct hl_board {
    const char *name;
    double low[3], high[3]; /* m, corners in the box's outer coordinates; thin along its normal */
    double conductivity_in, conductivity_through; /* W/(m K), copper included */
    double density_heat;                          /* J/(m^3 K) */
} hl_board;

typedef struct hl_body { /* a part, heat spreader, or lump that sits somewhere */
    const char *name;
    double low[3], high[3];  /* m; all zero = place unknown: only `links` by hand carry its heat */
    double conductivity;     /* W/(m K), mean of the body */
    double density_heat;     /* J/(m^3 K) */
    double capacity;         /* J/K; 0 = from volume */
    int board;               /* index of the board it is soldered to, or -1 */
    double board_resistance; /* K/W, inner hot spot, which is its node, to the board under it: its inside
                                included; all parts of the slot together; 0 = a bare contact under the
                                block's own conduction */
    double case_resistance;  /* K/W, inner hot spot to outer surface; 0 = the block's own conduction */
    hl_face pad_face;        /* face a pad leads to, HL_FACES = none */
    double pad_resistance;   /* K/W of that pad */
    double emissivity;
} hl_body;

/* Build the rule-of-thumb network: nodes of bodies come first, in order; then boards, then inner air,
 * then the six faces, then their inner sides.  A board that a body with a place sits on has four quarters,
 * which come last, in the order of the boards, and are named by board and faces ("main x0 y1"); its own node
 * is then the middle, their mean.  Appends to an empty network. Errors name body or board and remedy. */
HL_EXPORT hl_status hl_enclosure_by_rule(hl_network *network, const hl_box *box, size_t n_boards,
                                         const hl_board boards[], size_t n_bodies, const hl_body bodies[],
                                         hl_diagnostics *diagnostics);

#ifdef __cplusplus
}
#endif
#endif
