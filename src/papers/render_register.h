/* render_register.h - what was found in a register, as text, JSON or CSV
 */
#ifndef DUTYPROOF_PAPERS_RENDER_REGISTER_H
#define DUTYPROOF_PAPERS_RENDER_REGISTER_H

#include "register/find.h"

#include <stdio.h>

/* The folder of the newest papers of a judgement as it can be opened from where the program was started, in the arena;
 * "" when there are none yet. Returns: NULL when memory is out. */
const char *found_folder(const struct found_judgement *found, struct arena *arena);

/* One compact JSON object and a line end. Keys as in design: serial, model, order, tested, at, verdict, revision,
 * current, papers, result; what is not stated has no key. Status: E_MEMORY. */
enum status render_found_json(const struct found_judgement *found, FILE *to);

void render_found_csv_heading(FILE *to);
enum status render_found_csv(const struct found_judgement *found, FILE *to);

/* A row of a table on the terminal, under its heading. Status: E_MEMORY. */
void render_found_text_heading(FILE *to);
enum status render_found_text(const struct found_judgement *found, FILE *to);

#endif
