#include "stir.h"

#include <ctype.h>
#include <string.h>

typedef struct text {
    uint8_t *byte;
    size_t size;
} text;

/* Room for `more` bytes at `place`, as far as there is room; returns how many. */
static size_t make_room(text *t, size_t place, size_t more)
{
    if (more > STIR_LARGEST - t->size) more = STIR_LARGEST - t->size;
    memmove(t->byte + place + more, t->byte + place, t->size - place);
    t->size += more;
    return more;
}

static void drop(text *t, size_t place, size_t count)
{
    if (count > t->size - place) count = t->size - place;
    memmove(t->byte + place, t->byte + place + count, t->size - place - count);
    t->size -= count;
}

static void turn_a_bit(text *t, lottery *luck)
{
    if (t->size) t->byte[lottery_below(luck, t->size)] ^= (uint8_t)(1u << lottery_below(luck, 8));
}

static void put_a_byte(text *t, lottery *luck)
{
    size_t place = lottery_below(luck, t->size + 1);
    if (make_room(t, place, 1)) t->byte[place] = (uint8_t)lottery_below(luck, 256);
}

static void drop_a_run(text *t, lottery *luck)
{
    if (t->size) drop(t, lottery_below(luck, t->size), 1 + lottery_below(luck, 40));
}

static void double_a_run(text *t, lottery *luck)
{
    if (!t->size) return;
    size_t from = lottery_below(luck, t->size), length = 1 + lottery_below(luck, 60);
    if (length > t->size - from) length = t->size - from;
    length = make_room(t, from, length);
    memmove(t->byte + from, t->byte + from + length, length);
}

/* What readers of numbers and text stumble over. */
static const char *const awkward[] = {"0",     "-1", "1e308", "1e-320", "nan", "inf", "9223372036854775808",
                                      "1e999", "",   "\xff",  "\"",     "'",   "{",   "[",
                                      "\n",    ":",  ",",     "%n",     "../", "~",   "4294967296"};

static void put_something_awkward(text *t, lottery *luck)
{
    const char *word = awkward[lottery_below(luck, sizeof awkward / sizeof *awkward)];
    size_t place = lottery_below(luck, t->size + 1), end = place;
    while (end < t->size && isalnum(t->byte[end])) end++; /* in place of the rest of a word or number */
    drop(t, place, end - place);
    memcpy(t->byte + place, word, make_room(t, place, strlen(word)));
}

static void borrow(text *t, const stir_seeds *seeds, lottery *luck)
{
    size_t other = lottery_below(luck, seeds->n), length = seeds->size[other];
    if (!length) return;
    size_t from = lottery_below(luck, length), count = 1 + lottery_below(luck, 200);
    if (count > length - from) count = length - from;
    size_t place = lottery_below(luck, t->size + 1);
    memcpy(t->byte + place, seeds->data[other] + from, make_room(t, place, count));
}

size_t stir(const stir_seeds *seeds, lottery *luck, uint8_t input[STIR_LARGEST])
{
    size_t seed = lottery_below(luck, seeds->n);
    text t = {input, seeds->size[seed] < STIR_LARGEST ? seeds->size[seed] : STIR_LARGEST};
    memcpy(input, seeds->data[seed], t.size);
    for (size_t changes = 1 + lottery_below(luck, 8); changes > 0; changes--)
        switch (lottery_below(luck, 6)) {
        case 0:
            turn_a_bit(&t, luck);
            break;
        case 1:
            put_a_byte(&t, luck);
            break;
        case 2:
            drop_a_run(&t, luck);
            break;
        case 3:
            double_a_run(&t, luck);
            break;
        case 4:
            put_something_awkward(&t, luck);
            break;
        default:
            borrow(&t, seeds, luck);
        }
    return t.size;
}
