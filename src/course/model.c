#include "course/model.h"

#include "course/regions.h"

#include <stdlib.h>

void pv_course_free(pv_course *course)
{
    if (course == NULL)
        return;
    pv_art_clear(&course->art);
    pv_area_clear(&course->finish.outline);
    free(course->route.pieces);
    free(course->seeds);
    free(course->file);
    free(course);
}

const char *pv_course_name(const pv_course *course)
{
    return course->art.name;
}

const char *pv_course_edition(const pv_course *course)
{
    return course->art.edition;
}

double pv_course_width(const pv_course *course)
{
    return course->art.size.x;
}

double pv_course_height(const pv_course *course)
{
    return course->art.size.y;
}
