/* JSON: the one place that meets jansson. Writing is a stream of calls into a pv_text with a fixed,
 * readable layout; reading gives a tree that is asked for members by name and remembers the first
 * thing that was missing or of the wrong kind, with its path ("sheets[3].cell[0]"). Both speak the
 * C locale's numbers whatever the locale is. */
#ifndef JSON_JSON_H
#define JSON_JSON_H

#include "base/diag.h"
#include "base/text.h"

/* ---- writing ---- */

typedef struct pv_json_writer {
    pv_text out;
    int depth;
    bool first;                /* nothing yet in the innermost bracket */
    bool after_key;            /* a value follows on the same line */
    unsigned long inline_mask; /* bit d: the bracket at depth d is written on one line */
    int decimals;              /* pv_json_number rounds to so many; 0: writes all that it takes */
} pv_json_writer;

#define PV_JSON_WRITER_INIT                                                                        \
    {                                                                                              \
        PV_TEXT_INIT, 0, true, false, 0, 0                                                         \
    }

void pv_json_open(pv_json_writer *w, char bracket);        /* '{' or '[' */
void pv_json_open_inline(pv_json_writer *w, char bracket); /* all that it holds on one line */
void pv_json_close(pv_json_writer *w, char bracket);       /* '}' or ']' */
void pv_json_key(pv_json_writer *w, const char *key);
/* Shortest decimal that reads back as the same double (of 16 digits where 15 don't do, of 17 where
 * 16 don't); not-finite values are written as null, minus zero as 0. */
void pv_json_number(pv_json_writer *w, double value);
/* Rounded to so many decimals: for results, where more digits would say more than is known. */
void pv_json_rounded(pv_json_writer *w, double value, int decimals);
void pv_json_integer(pv_json_writer *w, long long value);
/* NULL is written as null; bytes that aren't UTF-8 are written as U+FFFD. */
void pv_json_string(pv_json_writer *w, const char *utf8);
void pv_json_bool(pv_json_writer *w, bool value);
/* A member of an object: its key, then its value as above. */
void pv_json_key_number(pv_json_writer *w, const char *key, double value);
void pv_json_key_rounded(pv_json_writer *w, const char *key, double value, int decimals);
void pv_json_key_count(pv_json_writer *w, const char *key, size_t n); /* an integer */
void pv_json_key_string(pv_json_writer *w, const char *key, const char *utf8);
void pv_json_key_bool(pv_json_writer *w, const char *key, bool value);
/* The text with a newline at its end; NULL where memory ran out. Frees the writer's memory. */
char *pv_json_take(pv_json_writer *w);

/* The same shortest decimal of a finite value as text of its own. */
#define PV_JSON_NUMBER 32
void pv_json_format(double value, char out[PV_JSON_NUMBER]);

/* ---- reading ---- */

typedef struct pv_json pv_json;           /* a whole document */
typedef struct pv_json_node pv_json_node; /* a value in it; lives as long as the document */

/* Far deeper than any file of ours, and shallow for a stack. */
#define PV_JSON_DEPTH_MAX 64

/* NULL with an error that has line and column. Refuses duplicate keys and anything past the end.
 * What is found wrong later goes into the same diags, which must outlive the document. */
pv_json *pv_json_parse(const char *text, size_t length, const char *name, pv_diags *diags);
void pv_json_free(pv_json *json);
const pv_json_node *pv_json_root(const pv_json *json);

/* True until something asked for was missing or of the wrong kind; then diags has one error with
 * its path, and all that is asked for later gives zeros and empty strings. */
bool pv_json_good(const pv_json *json);
/* Says that a value is of the right kind but makes no sense. */
void pv_json_complain(pv_json *json, const pv_json_node *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* A member that must be there; a member that may be missing (NULL where it is, or is null). Never
 * NULL otherwise: what is missing is a node that answers every question with nothing. */
const pv_json_node *pv_json_member(pv_json *json, const pv_json_node *object, const char *key);
const pv_json_node *pv_json_optional(pv_json *json, const pv_json_node *object, const char *key);
/* Without a complaint: '{', '[', '"', '0' for a number, 't', 'f', 'n' for null or what was missing;
 * a member of whatever may be an object (NULL where it is none, or has none of that name). */
char pv_json_kind(const pv_json_node *node);
const pv_json_node *pv_json_find(const pv_json_node *node, const char *key, size_t length);
size_t pv_json_length(pv_json *json, const pv_json_node *array);
const pv_json_node *pv_json_item(pv_json *json, const pv_json_node *array, size_t index);
double pv_json_get_number(pv_json *json, const pv_json_node *node, double least, double most);
long long pv_json_get_integer(pv_json *json, const pv_json_node *node, long long least,
                              long long most);
bool pv_json_get_bool(pv_json *json, const pv_json_node *node);
const char *pv_json_get_string(pv_json *json, const pv_json_node *node); /* the document's */

#endif
