/* Words of the plan's JSON that writing and reading share. */
#ifndef PLAN_FORMAT_H
#define PLAN_FORMAT_H

#include "base/kind.h"

#define PV_PLAN_VERSION 3
/* Sines and cosines differ in their last digits between machines; the fingerprint must not. */
#define PV_PLAN_FINGERPRINT_DECIMALS 6

/* By pv_ends and pv_anchor; NULL ends each list. */
extern const char *const pv_plan_ends_names[];
extern const char *const pv_plan_anchor_names[];
/* By pv_joint. */
extern const char *const pv_plan_joint_names[];
/* By pv_strips. */
extern const char *const pv_plan_strips_names[];

#endif
