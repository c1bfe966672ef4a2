/* State for one number less than it uses. */
#define STATE_SIZE wrong_size
#include "sound_switch.h"

static inline size_t wrong_size(const hl_value *values)
{
    (void)values;
    return sizeof(sound_part) - sizeof(double);
}
