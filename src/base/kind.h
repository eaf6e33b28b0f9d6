/* What our own JSON files call themselves in their member "format". */
#ifndef BASE_KIND_H
#define BASE_KIND_H

#define PV_PLAN_FORMAT    "pavior plan"
#define PV_PRINTER_FORMAT "pavior printer"
#define PV_SCANNER_FORMAT "pavior scanner"

#endif
