/* boost_course.h - the time-domain course of a boost power-factor stage through half a line period, to
 * compare its closed form with: true v(t) within every cycle, a controller that acts cycle by cycle. */
#ifndef BOOST_COURSE_H
#define BOOST_COURSE_H

typedef struct boost_course {
    double inductance, rise_resistance, fall_resistance; /* of the whole path */
    double drop;                                         /* V, of the rectifier */
    double line_drop;                                    /* V, of what rectifies the line, all the time */
    double crest, omega, output;
} boost_course;

typedef struct boost_course_totals {
    double time, cycles;
    double on_charge, on_square, off_charge, off_square; /* through switch and rectifier */
    double mean_square;                                  /* of each cycle's mean, times its length */
    double energy;                                       /* drawn from the line */
    double peak;
} boost_course_totals;

/* Fixed frequency: the mean current of each cycle follows amplitude * (|v| - line_drop) / (crest -
 * line_drop); while the current stays above zero by the current in the middle of the off-time, else by
 * charge. */
void boost_course_average(const boost_course *course, double amplitude, double period,
                          boost_course_totals *totals);
/* Constant on-time from zero current; `delay` after the next zero it starts again. */
void boost_course_boundary(const boost_course *course, double on, double delay, boost_course_totals *totals);

#endif
