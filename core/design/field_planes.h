/* field_planes.h - edges along one axis, each free to move a little, gathered on few planes. */
#ifndef HEATLEDGER_FIELD_PLANES_H
#define HEATLEDGER_FIELD_PLANES_H

#include <stdbool.h>
#include <stddef.h>

/* An edge of a solid. */
typedef struct plane_edge {
    double at, reach; /* m; it may move by reach either way, 0 = it stands still */
    double *into;     /* where its plane is written */
} plane_edge;

/* Give each edge a plane within its reach, as few planes as that allows: two edges whose reaches do not meet
 * stay apart and in order, edges at one place stay together.
 *   plane   [n] room, out: the planes, rising
 *   return  how many */
size_t planes_gather(plane_edge edges[], size_t n, double plane[]);

#endif
