/* label_star.h - the star label for agricultural pump sets
 */
#ifndef DUTYPROOF_LABEL_STAR_H
#define DUTYPROOF_LABEL_STAR_H

#include "label/label_parts.h"

/* Fills the label of a unit, or refuses. */
void label_star(struct labelling *labelling);

#endif
