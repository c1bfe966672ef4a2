/* heatledger.h - the host interface: everything a program needs to read parts,
 * describe an adapter, solve it and read the result.  How sure figures are: spread.h; readings: fit.h. */
#ifndef HEATLEDGER_HEATLEDGER_H
#define HEATLEDGER_HEATLEDGER_H

#include "heatledger/catalogue.h"
#include "heatledger/design.h"
#include "heatledger/field.h"
#include "heatledger/ladder.h"
#include "heatledger/limits.h"
#include "heatledger/plugin.h"
#include "heatledger/quantity.h"
#include "heatledger/status.h"
#include "heatledger/sweep.h"
#include "heatledger/thermal.h"
#include "heatledger/trace.h"
#include "heatledger/warmup.h"

#endif
