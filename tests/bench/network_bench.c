/* network_bench.c - steady solutions of thermal networks by their size, once set up, on one core, and the
 * growth fitted.   network_bench [--json] */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "heatledger/thermal.h"

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

typedef struct load {
    size_t n;
    double factor;
} load;

/* Every tenth node is a part whose loss grows a little with its temperature. */
static void heat(void *context, double time, const double temperature[], double power[], double slope[])
{
    const load *l = context;
    (void)time;
    for (size_t i = 0; i < l->n; i++) {
        double watts = i % 10 == 0 ? 0.5 * l->factor : 0;
        power[i] = watts * (1 + 2e-3 * (temperature[i] - 300));
        slope[i] = watts * 2e-3;
    }
}

static void join(hl_network *network, size_t a, int b, hl_law law, double p0, double p1)
{
    hl_link link = {(int)a, b, law, HL_VERTICAL, {p0, p1, 0, 0}};
    if (hl_network_add_link(network, &link) < 0) exit(EXIT_FAILURE);
}

/* A plate of nodes with conduction to four neighbours; every eighth gives to air by convection and radiation.
 */
static hl_network *plate(size_t n)
{
    hl_network *network = hl_network_create();
    size_t width = (size_t)sqrt((double)n);
    for (size_t i = 0; i < n; i++) {
        hl_network_add_node(network, "cell", 0.1);
        if (i % width) join(network, i, (int)i - 1, HL_LAW_FIXED, 0.05, 0);
        if (i >= width) join(network, i, (int)(i - width), HL_LAW_FIXED, 0.05, 0);
        if (i % 8) continue;
        join(network, i, HL_AMBIENT, HL_LAW_NATURAL, 2e-3, 0.05);
        join(network, i, HL_AMBIENT, HL_LAW_RADIATION, 0.9, 2e-3);
    }
    return network;
}

/* Seconds per solution; every one at another load, begun at the last. */
static double measure(size_t n)
{
    hl_network *network = plate(n);
    hl_network_work *work = hl_network_work_create(network);
    double *temperature = calloc(n, sizeof *temperature), seconds = 0, began;
    const hl_surroundings room = {300, 101325};
    load l = {n, 1};
    unsigned long done = 0;
    for (size_t i = 0; i < n; i++) temperature[i] = 300;
    for (began = now(); seconds < 0.5; seconds = now() - began, done++) {
        l.factor = 1 + 0.1 * (double)(done % 7) / 7;
        if (hl_network_steady(work, &room, heat, &l, temperature) != HL_OK) exit(EXIT_FAILURE);
    }
    free(temperature);
    hl_network_work_destroy(work);
    hl_network_destroy(network);
    return seconds / (double)done;
}

typedef struct size {
    size_t n;
    double most; /* s asked for; 0: none */
    double seconds;
} size;

/* Least squares of the logarithms. */
static double exponent(const size sizes[], size_t count)
{
    double n = (double)count, sx = 0, sy = 0, sxx = 0, sxy = 0;
    for (size_t k = 0; k < count; k++) {
        double x = log((double)sizes[k].n), y = log(sizes[k].seconds);
        sx += x, sy += y, sxx += x * x, sxy += x * y;
    }
    return (n * sxy - sx * sy) / (n * sxx - sx * sx);
}

static void print_table(const size sizes[], size_t count)
{
    puts("| nodes of a thermal network | µs a steady solution, once set up | asked for: under |\n"
         "| ---: | ---: | ---: |");
    for (size_t k = 0; k < count; k++) {
        printf("| %zu | %.1f | ", sizes[k].n, 1e6 * sizes[k].seconds);
        if (sizes[k].most > 0) printf("%.0f ", 1e6 * sizes[k].most);
        puts("|");
    }
    printf("\nTime grows as nodes^%.2f.\n", exponent(sizes, count));
}

static void print_json(const size sizes[], size_t count)
{
    printf("{\"schema\":\"heatledger.bench_networks/1\",\"exponent\":%.3f,\"networks\":[",
           exponent(sizes, count));
    for (size_t k = 0; k < count; k++)
        printf("%s{\"nodes\":%zu,\"seconds\":%.4g}", k ? "," : "", sizes[k].n, sizes[k].seconds);
    puts("]}");
}

int main(int argc, char **argv)
{
    size sizes[] = {{40, 15e-6, 0}, {130, 0, 0}, {400, 400e-6, 0}, {900, 0, 0}, {2000, 5e-3, 0}};
    const size_t count = sizeof sizes / sizeof sizes[0];
    for (size_t k = 0; k < count; k++) sizes[k].seconds = measure(sizes[k].n);
    (argc > 1 && !strcmp(argv[1], "--json") ? print_json : print_table)(sizes, count);
    return EXIT_SUCCESS;
}
