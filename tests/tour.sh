#!/bin/sh
# Takes a job from its estimate to the last invoice: quote, acceptance, change order, two progress invoices with retainage,
# final invoice, payment. Prints the sum that must hold after each step. Every request carries a key of its own: run again, it
# does nothing again, and the sum stays the last one at every step.
#
#   RC=http://127.0.0.1:8080 KEY=rc_… JOB=job_… sh tests/tour.sh
set -eu

post() {
    curl -sS --fail-with-body -X POST "$RC$1" -H "Authorization: Bearer $KEY" -H 'Content-Type: application/json' \
        -H 'If-Match: *' -H "Idempotency-Key: tour-$2" -d "$3"
}
id() { grep -o "\"id\":\"$1_[a-z0-9]*\"" | head -1 | cut -d '"' -f 4; }
ledger() {
    printf '%-22s' "$1"
    curl -sS "$RC/v1/jobs/$JOB/ledger" -H "Authorization: Bearer $KEY" | grep -o 'contract [0-9.]* = quote [^"]*'
}
here=$(dirname "$0")

estimate=$(post "/v1/jobs/$JOB/estimates" estimate '{}' | id est)
quote=$(post "/v1/jobs/$JOB/quotes" quote "{
    \"estimate_id\": \"$estimate\", \"valid_until\": \"2026-03-31\",
    \"seller\": {\"name\": \"Example Drainage\", \"street\": \"2 Quarry Road\", \"city\": \"Millbrook\", \"country\": \"US\"},
    \"retainage\": {\"pct\": \"10\"},
    \"schedule\": [{\"code\": \"deposit\", \"name\": \"On signing\", \"due\": \"deposit\", \"pct\": \"20\"},
        {\"code\": \"rest\", \"name\": \"As the work goes on\", \"due\": \"progress\", \"pct\": \"80\"}]}" | id quo)
post "/v1/quotes/$quote/issue" issue '{"on": "2026-03-01"}' >/dev/null
post "/v1/quotes/$quote/accept" accept '{"by": "Example Household", "on": "2026-03-08"}' >/dev/null
ledger 'accepted'
post "/v1/jobs/$JOB/invoices" deposit '{"bill": {"kind": "stage", "stage": "deposit"}, "on": "2026-03-08"}' >/dev/null
ledger 'deposit'
post "/v1/jobs/$JOB/invoices" progress-1 '{"bill": {"kind": "percent", "pct_to_date": "50"}, "on": "2026-03-15"}' >/dev/null
ledger 'half done'
longer=$(post "/v1/jobs/$JOB/estimates" longer "{\"notes\": $(sed 's/"24 ft"/"30 ft"/' "$here/../src/domain/demo/notes.json")}" | id est)
change=$(post "/v1/jobs/$JOB/change-orders" change \
    "{\"title\": \"Drive run six feet longer\", \"basis\": {\"kind\": \"revision\", \"estimate_id\": \"$longer\"}}" | id chg)
post "/v1/change-orders/$change/issue" change-issue '{"on": "2026-03-16"}' >/dev/null
post "/v1/change-orders/$change/accept" change-accept '{"by": "Example Household", "on": "2026-03-17"}' >/dev/null
ledger 'change order'
post "/v1/jobs/$JOB/invoices" progress-2 '{"bill": {"kind": "percent", "pct_to_date": "90"}, "on": "2026-03-22"}' >/dev/null
ledger 'nine tenths done'
final=$(post "/v1/jobs/$JOB/invoices" final '{"bill": {"kind": "final"}, "on": "2026-03-29"}')
ledger 'final'
invoice=$(printf '%s' "$final" | id inv)
payable=$(printf '%s' "$final" | grep -o '"payable":"[0-9.]*"' | head -1 | cut -d '"' -f 4)
post "/v1/invoices/$invoice/payments" payment \
    "{\"system\": \"accounting\", \"reference\": \"RCPT-0001\", \"on\": \"2026-04-20\", \"amount\": \"$payable\"}" >/dev/null
ledger 'final paid'
