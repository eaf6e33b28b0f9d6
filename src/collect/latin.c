/* By scripts: each letter's, from the first to the last code, with a blank after it; "." where
 * there is no letter, "-" where nothing stands for it. From memory of ELOT 743 (Greek, letter by
 * letter) and ICAO Doc 9303 (Cyrillic, with Serbian and Macedonian letters as their own alphabets
 * do). */
#include "collect/latin.h"

#include <string.h>

static const struct {
    uint32_t first, last;
    const char *letters;
} scripts[] = {
    {0x0C0, 0x17F,
     "A A A A A A AE C E E E E I I I I D N O O O O O . O U U U U Y Th ss a a a a a a ae c e "
     "e e e i i i i d n o o o o o . o u u u u y th y A a A a A a C c C c C c C c D d D d E e "
     "E e E e E e E e G g G g G g G g H h H h I i I i I i I i I i IJ ij J j K k k L l L l L "
     "l L l L l N n N n N n n N n O o O o O o OE oe R r R r R r S s S s S s S s T t T t T t "
     "U u U u U u U u U u U u W w Y y Y Z z Z z Z z s "},
    {0x386, 0x3CE,
     "A . E I I . O . Y O i A V G D E Z I Th I K L M N X O P R . S T Y F Ch Ps O I Y a e i i "
     "y a v g d e z i th i k l m n x o p r s s t y f ch ps o i y o y o "},
    {0x400, 0x45F,
     "E E Dj G Ie Dz I I J Lj Nj C K I U Dz A B V G D E Zh Z I I K L M N O P R S T U F Kh Ts "
     "Ch Sh Shch - Y - E Iu Ia a b v g d e zh z i i k l m n o p r s t u f kh ts ch sh shch - "
     "y - e iu ia e e dj g ie dz i i j lj nj c k i u dz "},
};

bool pv_latin_add(pv_text *to, uint32_t code)
{
    if (code >= 0x300 && code <= 0x36F) /* an accent by itself */
        return true;
    for (size_t i = 0; i < sizeof scripts / sizeof *scripts; i++) {
        if (code < scripts[i].first || code > scripts[i].last)
            continue;
        const char *letter = scripts[i].letters;
        for (uint32_t skip = code - scripts[i].first; skip > 0; skip--)
            letter += strcspn(letter, " ") + 1;
        if (*letter == '.')
            return false;
        if (*letter != '-')
            pv_text_bytes(to, letter, strcspn(letter, " "));
        return true;
    }
    return false;
}
