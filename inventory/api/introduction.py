"""What the page of the API says before its addresses: how to sign in, keys, lengths and refusals."""

from __future__ import annotations

from typing import Final

WORDS: Final = """\
Deliveries, pieces, readings, verdicts and documents, for other programs. [Back to the shop](/)

**Signing in.** `POST /api/v1/token/` with a name and password gives a token. Send it with every request
as `Authorization: Token …`. A program may do what that person's role may. `DELETE /api/v1/token/` ends
the token, and so does a new password. On this page the button *Authorize* takes the word `Token`, a
space and the token; without it, whoever is signed in here is asked for.

**Keys.** A reading has a key of its own, a new UUID sent as `client_key` or in the header
`Idempotency-Key`. Sent again after a lost answer it is stored once: 201 the first time, 200 with the
same answer after that, 409 when another reading comes under the key.

**Lengths** are sent as text, as read off the tape (`"343"`, `"34.3 cm"`, `"13 1/2 in"`), and shown three
ways: `nm` is what is stored and judged, in whole nanometres; `mm` is the same in millimetres, exact;
`shown` is rounded for reading. Calculate with `nm` or `mm`.

**Refusals** have one shape, problem details (RFC 9457): a sentence in `detail`, the situation in `type`,
and in `errors` a pointer to each place that is wrong; an empty pointer means the whole. 400: not what is
described here. 422: well formed, but the shop's rules or records speak against it. 409: at odds with
what is stored; look before trying again.
"""
