/* Words of the plan's JSON that writing and reading share. */
#ifndef PLAN_FORMAT_H
#define PLAN_FORMAT_H

#define PV_PLAN_FORMAT "pavior plan"
/* Version 1, before seams had an order of their own, has neither `joint` nor `taping`, and its
 * fingerprint leaves over and under out. It is read, and written again as it was. */
#define PV_PLAN_VERSION 2
/* Sines and cosines differ in their last digits between machines; the fingerprint must not. */
#define PV_PLAN_FINGERPRINT_DECIMALS 6

/* By pv_ends and pv_anchor. */
extern const char *const pv_plan_ends_names[3];
extern const char *const pv_plan_anchor_names[3];
/* By pv_joint. */
extern const char *const pv_plan_joint_names[2];

#endif
