/* check_field_slopes.c - slopes of what is not linear in a condensed field, against differences.
 *
 * They steer the careful way to a balance, which converges, more slowly, with poor ones too: no temperature
 * tells. */
#include "thermal/field_core.h"

#include "story.h"

enum { PATCHES = 8, GROUPS = 2, ROWS = PATCHES + 2 * GROUPS };

static port_patch patches[PATCHES];
static double outward[PATCHES], rise[ROWS], own[PATCHES + GROUPS], other[PATCHES + GROUPS];
static hl_field field;
static const hl_surroundings surroundings = {.temperature = 300, .pressure = 101325};

/* Two patches on a face that looks up, two on one that is blown at, both partly covered, two on a fixed one,
 * and one on each of two that let nothing out; two pairs of facing surfaces with air between them, one of
 * them lying. */
static void set_up(void)
{
    static const int first[HL_FACES + 1] = {0, 2, 4, 6, 7, 8, 8};
    static const double rises[ROWS] = {25, 31, 44, 38, 12, 19, 5, 6, 80, 95, 40, 52};
    field = (hl_field){.n_rows = ROWS, .n_ports = PATCHES + GROUPS, .up = HL_FACES};
    field.sides[0] = (hl_field_side){HL_FIELD_NATURAL, HL_FACING_UP, 0.02, 0, 0.9, 0, 0, 0.3, 4};
    field.sides[1] = (hl_field_side){HL_FIELD_NATURAL, HL_VERTICAL, 0.05, 0, 0.8, 1.5, 0.07, 0.6, 5};
    field.sides[2] = (hl_field_side){HL_FIELD_FIXED, HL_VERTICAL, 0.05, 8, 0.5, 0, 0, 0, 0};
    for (int face = 3; face < HL_FACES; face++)
        field.sides[face] = (hl_field_side){.law = HL_FIELD_ADIABATIC};
    for (int k = 0; k < PATCHES; k++) {
        patches[k].area = 1e-3 * (k + 1);
        outward[k] = 9 + k;
    }
    for (int r = 0; r < ROWS; r++) rise[r] = rises[r];
    field.linear.outward = outward;
    field.ports.patches = patches;
    field.ports.n_patches = PATCHES;
    field.ports.n_groups = GROUPS;
    for (int face = 0; face <= HL_FACES; face++) field.ports.first_patch[face] = first[face];
    for (int k = 0; k < GROUPS; k++) {
        field.ports.groups[k] =
            (port_group){.axis = k, .exchange = 3e-3 + 2e-3 * k, .area = 5e-3, .gap = 12e-3, .height = 60e-3};
        field.linear.radiation[k] = 7;
        field.linear.convection[k] = 1.5;
    }
}

/* Change of port `port`'s departure with the rise of row `row`, W/K. */
static double difference(int port, int row)
{
    static const double step = 1e-3; /* K */
    double up[PATCHES + GROUPS], down[PATCHES + GROUPS], heat[HL_FACES], kept = rise[row];
    rise[row] = kept + step;
    field_departures(&field, &surroundings, rise, up, heat);
    rise[row] = kept - step;
    field_departures(&field, &surroundings, rise, down, heat);
    rise[row] = kept;
    return (up[port] - down[port]) / (2 * step);
}

static void slopes_now(void)
{
    field_departure_slopes(&field, &surroundings, rise, &(departure_slopes){own, other});
}

/* A patch leaves by its own rise and by the mean rise of its face, of which its neighbours have a part. */
START_TEST(patches_follow_their_own_and_their_faces_rise)
{
    slopes_now();
    for (int face = 0; face < HL_FACES; face++) {
        int first = field.ports.first_patch[face], end = field.ports.first_patch[face + 1];
        double area = 0;
        for (int k = first; k < end; k++) area += patches[k].area;
        for (int k = first; k < end; k++)
            for (int j = first; j < end; j++) {
                double slope = other[k] * patches[j].area / area + (j == k ? own[k] : 0);
                ck_near(slope, difference(k, j), 1e-7, 1e-10);
            }
    }
}
END_TEST

static void heat_at(double covered, double cover, double heat[HL_FACES])
{
    double departure[PATCHES + GROUPS];
    for (int face = 0; face < HL_FACES; face++) {
        field.sides[face].covered = covered;
        field.sides[face].cover = cover;
    }
    field_departures(&field, &surroundings, rise, departure, heat);
}

/* What leaves a face is the sum of its two ways: its open share's, as of a bare face by area, and what the
 * cover takes, at every rise by its area.  A cover of no share is none, to the bit. */
START_TEST(a_partly_covered_face_hands_out_by_two_ways)
{
    static const double shares[] = {0, 0.3, 0.5, 1}, cover = 6;
    double bare[HL_FACES], heat[HL_FACES];
    heat_at(0, 0, bare);
    for (int face = 0; face < 3; face++) ck_assert_double_gt(bare[face], 0.1);
    for (size_t i = 0; i < sizeof shares / sizeof *shares; i++) {
        heat_at(shares[i], cover, heat);
        for (int face = 0; face < HL_FACES; face++) {
            bool lets_out = field.sides[face].law != HL_FIELD_ADIABATIC;
            double taken = 0;
            for (int k = field.ports.first_patch[face]; k < field.ports.first_patch[face + 1]; k++)
                taken += lets_out ? cover * patches[k].area * rise[k] : 0;
            ck_near(heat[face], (1 - shares[i]) * bare[face] + shares[i] * taken, 1e-13, 0);
            if (i == 0) ck_assert(heat[face] == bare[face]);
        }
    }
}
END_TEST

/* Still air: radiation alone, and what the grid has already. */
START_TEST(facing_surfaces_radiate_by_their_own_rise)
{
    field.still = true;
    slopes_now();
    for (int k = 0; k < GROUPS; k++) {
        ck_near(own[PATCHES + k], difference(PATCHES + k, PATCHES + k), 1e-7, 0);
        ck_near(other[PATCHES + k], difference(PATCHES + k, PATCHES + GROUPS + k), 1e-7, 0);
    }
}
END_TEST

/* The coefficient of a layer that convects counts as fixed: its slope is heat over difference. */
START_TEST(a_convecting_layer_keeps_its_coefficient)
{
    double with[PATCHES + GROUPS], without[PATCHES + GROUPS], still_own[GROUPS], still_other[GROUPS],
        heat[HL_FACES];
    field_departures(&field, &surroundings, rise, with, heat);
    field.still = true;
    field_departures(&field, &surroundings, rise, without, heat);
    slopes_now();
    for (int k = 0; k < GROUPS; k++) {
        still_own[k] = own[PATCHES + k];
        still_other[k] = other[PATCHES + k];
    }
    field.still = false;
    slopes_now();
    for (int k = 0; k < GROUPS; k++) {
        double drop = rise[PATCHES + k] - rise[PATCHES + GROUPS + k];
        double convected = (with[PATCHES + k] - without[PATCHES + k]) / drop;
        ck_assert(convected < -1e-4); /* the layer is wide enough */
        ck_near(own[PATCHES + k] - still_own[k], convected, 1e-9, 0);
        ck_near(other[PATCHES + k] - still_other[k], -convected, 1e-9, 0);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, NULL);
    tcase_add_test(tests, patches_follow_their_own_and_their_faces_rise);
    tcase_add_test(tests, a_partly_covered_face_hands_out_by_two_ways);
    tcase_add_test(tests, facing_surfaces_radiate_by_their_own_rise);
    tcase_add_test(tests, a_convecting_layer_keeps_its_coefficient);
}

int main(void)
{
    return story_main("slopes of a condensed field", fill);
}
