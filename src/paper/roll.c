#include "paper/roll.h"

#include "base/vec.h"
#include "json/json.h"

#include <stdio.h>
#include <string.h>

#define INCHES(n)                                                                                  \
    {                                                                                              \
#n " in", (n)*PV_MM_PER_IN                                                                 \
    }

static const pv_roll rolls[] = {INCHES(24), INCHES(36), INCHES(42),
                                INCHES(44), INCHES(60), INCHES(64)};

size_t pv_roll_count(void)
{
    return sizeof rolls / sizeof *rolls;
}

const pv_roll *pv_roll_at(size_t index)
{
    return index < pv_roll_count() ? &rolls[index] : NULL;
}

const pv_roll *pv_roll_of(double width)
{
    for (size_t i = 0; i < pv_roll_count(); i++)
        if (rolls[i].width >= width - 1e-9)
            return &rolls[i];
    return NULL;
}

void pv_roll_name(double width, char text[PV_ROLL_NAME])
{
    double halves = 2 * width / PV_MM_PER_IN;
    bool inches = fabs(halves - round(halves)) < 1e-6;
    char shown[PV_JSON_NUMBER];
    pv_json_format(inches ? round(halves) / 2 : round(1000 * width) / 1000, shown);
    snprintf(text, PV_ROLL_NAME, "%s %s roll", shown, inches ? "in" : "mm");
}

double pv_roll_along(const char *name, const double page[2])
{
    char roll[PV_ROLL_NAME];
    for (int axis = 0; axis < 2; axis++) {
        pv_roll_name(page[axis], roll);
        if (strcmp(name, roll) == 0)
            return page[1 - axis];
    }
    return 0;
}
