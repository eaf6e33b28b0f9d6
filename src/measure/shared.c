#include "measure/shared.h"

double pv_shared_grid_alone(bool bilevel, double px_per_mm)
{
    return (bilevel ? PV_U_GRID_BILEVEL : PV_U_GRID) / px_per_mm;
}

void pv_shared_add(pv_shared *shared, const pv_station *station)
{
    for (int e = 0; e < 2; e++) {
        const pv_seen *seen = &station->seen[e];
        for (int i = 0; i < PV_TONES; i++)
            shared->tone[e][i] += seen->tone[i];
        shared->grid[e] = pv_add(shared->grid[e], seen->grid);
        shared->screen[e] += seen->screen;
    }
    shared->n++;
}

void pv_shared_close(pv_shared *shared, bool bilevel, double px_per_mm)
{
    double n = shared->n > 0 ? (double)shared->n : 1;
    double grid = pv_shared_grid_alone(bilevel, px_per_mm);
    for (int e = 0; e < 2; e++) {
        for (int i = 0; i < PV_TONES; i++)
            shared->tone[e][i] /= n;
        shared->grid[e] = pv_scale(shared->grid[e], grid / n);
        shared->screen[e] /= n;
    }
}

/* Each unknown of the tone curve moves both edges together; the unknowns are independent. */
double pv_shared_tone_of_width(const pv_shared *shared)
{
    double sum = 0;
    for (int i = 0; i < PV_TONES; i++)
        sum += pow(shared->tone[1][i] - shared->tone[0][i], 2);
    return sqrt(sum);
}

double pv_shared_grid_of_width(const pv_shared *shared)
{
    return hypot(pv_len(shared->grid[0]), pv_len(shared->grid[1]));
}

double pv_shared_tone_of_centre(const pv_shared *shared, pv_tone tone)
{
    return (shared->tone[0][tone] + shared->tone[1][tone]) / 2;
}

double pv_shared_grid_of_centre(const pv_shared *shared)
{
    return pv_shared_grid_of_width(shared) / 2;
}

double pv_shared_screen_of_width(const pv_shared *shared)
{
    return hypot(shared->screen[0], shared->screen[1]);
}

double pv_shared_screen_of_centre(const pv_shared *shared)
{
    return pv_shared_screen_of_width(shared) / 2;
}
