/* status.c - the sentence behind each status code. */
#include "heatledger/status.h"

const char *hl_status_text(hl_status status)
{
    switch (status) {
#define HL_X(name, code, sentence)                                                                           \
    case name:                                                                                               \
        return sentence;
        HL_STATUS_LIST(HL_X)
#undef HL_X
    }
    return "unknown status";
}
