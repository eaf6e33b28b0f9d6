/* The robot's run over a course: not printed, but drawn for whoever looks at the course. */
#include "course/model.h"
#include "draw/art.h"
#include "draw/strokes.h"

#define ROUTE_SHARE (1.0 / 320) /* of the mat's mean side: the route's width */

static const uint8_t run_colour[3] = {204, 0, 116};

/* The footprint's outline, its pivot, and a bar from there to its front. */
static void draw_robot(pv_drawing *d, const pv_robot *robot, pv_vec at, pv_vec ahead, double width)
{
    pv_vec left = pv_left(ahead);
    pv_vec rear = pv_along(at, ahead, -robot->pivot);
    pv_vec front = pv_along(rear, ahead, robot->length);
    pv_vec corner[4] = {
        pv_along(rear, left, -robot->width / 2), pv_along(front, left, -robot->width / 2),
        pv_along(front, left, robot->width / 2), pv_along(rear, left, robot->width / 2)};
    for (int i = 0; i < 4; i++) {
        pv_draw_bar(d, corner[i], corner[(i + 1) % 4], width);
        pv_draw_disc(d, corner[i], width / 2);
    }
    if (robot->pivot < robot->length)
        pv_draw_bar(d, at, front, width);
    pv_draw_disc(d, at, 2 * width);
}

void pv_draw_run(pv_drawing *drawing, const pv_course *course)
{
    const pv_route *route = &course->route;
    double width = (course->art.size.x + course->art.size.y) / 2 * ROUTE_SHARE;
    for (size_t i = 0; i < route->n; i++) {
        /* A disc where pieces meet, so that turns on the spot have no gap. */
        pv_draw_piece(drawing, &route->pieces[i], width);
        pv_draw_disc(drawing, route->pieces[i].b, width / 2);
    }
    if (course->robot.given && route->n > 0) {
        const pv_piece *first = &route->pieces[0], *last = &route->pieces[route->n - 1];
        draw_robot(drawing, &course->robot, first->a, pv_piece_heading(first, 0), width / 2);
        draw_robot(drawing, &course->robot, last->b, pv_piece_heading(last, pv_piece_length(last)),
                   width / 2);
    } else if (course->robot.given && course->start.given) {
        draw_robot(drawing, &course->robot, course->start.at, pv_polar(1, course->start.heading),
                   width / 2);
    }
    pv_draw_fill(drawing, run_colour, false);
}
