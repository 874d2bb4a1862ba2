// Package benchfile reads a bench file: what a bench is. Bay, journal, gauges
// with their ports and profiles, certified pieces, stock, sheets. Strict YAML;
// every fault is laid at file, line and column.
//
// Times of the bench, each with what is usual where it is not given:
//
//	double press: 0.8 s             how soon a second press is no reading of its own
//	idle after: 30 min              how long a gauge may lie unused before its zero is checked anew
//	seated holds for: 10 min        how long it holds that bearings were rolled or seated
//	quiet after: 30 min             how long a port may say nothing before that is said
//
// Where a scraper finds the bench's figures; none are served where it is not
// given. Where it listens on more than this machine, a web config with a
// certificate is wanted, or without tls: yes, which says that the network may read
// along:
//
//	metrics: {listen: 127.0.0.1:9464, web config: web.yaml}
//
// The web config is in the form of the Prometheus exporters: tls_server_config
// with cert_file and key_file, basic_auth_users with bcrypt hashes.
//
// A profile says how one kind of gauge talks (devices.Profile):
//
//	line: 9600 8N1                  rate, data bits, parity, stop bits
//	kind: text line                 or: text line when asked, packed decimal
//	parts: [sign, figure]           what a line has, in order; not for packed decimal
//	end: CR                         or: LF, CRLF, none
//	length: 9                       bytes of a line, with end: none
//	gap: 100 ms                     the quiet behind it, with end: none
//	assume: mm                      the unit, where the gauge need not state it
//	ask: {prompt: 'R\r', time-out: 0.5 s, retries: 2}
//	packing: bytes                  or: hex text
//	raise: [DTR, RTS]               lines of the port to raise; [] for none
//	no number: [---, Err]           what the gauge shows in place of a figure
//	overrange: 4                    so many nines or eights are no number; 0: never
//	longest: 64                     bytes of a line at most
//	half line: 250 ms               how long a line may be quiet before its end
//	settle: 300 ms                  what is dropped after the port was opened
//
// The parts:
//
//	sign                            or {sign: optional}, always, blank for plus
//	figure                          or {figure: {mark: comma, digits: 6, places: 2, padded: yes}}
//	{unit: {mm: mm, in: in}, optional: yes}
//	{flags: {B: battery low, H: nothing}}
//	{literal: 'T'}                  bytes that are always the same
//	{skip: 4}                       bytes that say nothing
//	{channel: 1, of: letters}       a multiplexer's channel: digits, unless letters
//	{code: {QR: reading, QZ: absent}}
//
// A prompt, a literal and a code may hold escapes, \r \n \t \e \\ and \x with
// two hex digits, as in \x20 for a blank at either end. They are written plain
// or in single quotes: in double quotes YAML takes the backslash for its own.
//
// A gauge may have its limit of error and the corrections of its certificate, as
// a readings file has them:
//
//	corrections: {points: [{at: 0.00 mm, add: 0.000 mm}, {at: 50.00 mm, add: 0.010 mm}]}
//
// A gauge names its profile and its port, {usb serial: …} or {path: …}; where
// the profile has a channel part, also its channel, and then several gauges may
// name the same port.
//
// Facts are shipped to a shop's PostgreSQL where the file says so. What is left
// out comes from PGHOST, PGUSER and the like; a password is never written here:
//
//	relay:
//	  server: db.shop.example         name, address, or the folder of a socket
//	  port: 5432
//	  database: shimwright
//	  user: bay2
//	  password file: bay2.password    its one line; no one else may read it
//	  authority: shop-ca.pem          certificates to trust in place of the system's
//	  encrypted: yes                  no: in the clear to another machine too
package benchfile
