/* judge_geometry.h - flow and head by the geometry of the grade
 */
#ifndef DUTYPROOF_JUDGE_GEOMETRY_H
#define DUTYPROOF_JUDGE_GEOMETRY_H

#include "verdict/judge_parts.h"

/* The "flow and head" check by the grade's geometry, and the readings and limits it rests on. */
void judge_flow_and_head(struct judging *judging);

#endif
