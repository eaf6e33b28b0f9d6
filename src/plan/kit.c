#include "plan/layout.h"

pv_kit_text pv_plan_kit(const pv_plan *plan)
{
    static const char digits[] = PV_CLEAR_LETTERS;
    pv_kit_text text = {""};
    uint64_t left = plan->fingerprint;
    for (int i = PV_KIT_CHARS - 1; i >= 0; i--) {
        text.chars[i] = i == PV_KIT_BREAK ? '-' : digits[left % 32];
        left /= i == PV_KIT_BREAK ? 1 : 32;
    }
    return text;
}
