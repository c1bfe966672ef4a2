/* check_inductor_cycle.c - the step by which a steady cycle is looked for.
 *
 * A wrong step often leads to the same cycle, only later: no figure of a stage tells. */
#include "../../plugins/stages/inductor_cycle.h"

#include "lottery.h"
#include "story.h"

/* Three equations in three unknowns, and a singular matrix refused. */
START_TEST(three_equations_are_solved)
{
    lottery luck = lottery_open("three equations");
    double m[3][3], wanted[3], f[3], x[3];
    for (int run = 0; run < 1000; run++) {
        for (int i = 0; i < 3; i++) {
            wanted[i] = lottery_between(&luck, -2, 2);
            for (int j = 0; j < 3; j++) m[i][j] = lottery_between(&luck, -1, 1) + 3 * (i == j);
        }
        for (int i = 0; i < 3; i++) f[i] = m[i][0] * wanted[0] + m[i][1] * wanted[1] + m[i][2] * wanted[2];
        ck_assert(solve_three(m, f, x));
        for (int i = 0; i < 3; i++) ck_near(x[i], wanted[i], 0, 1e-12);
    }
    for (int j = 0; j < 3; j++) m[2][j] = 0;
    ck_assert(!solve_three(m, f, x));
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, three_equations_are_solved);
}

int main(void)
{
    return story_main("inductor cycle", fill);
}
