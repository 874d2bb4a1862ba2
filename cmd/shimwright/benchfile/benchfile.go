package benchfile

import (
	"path/filepath"
	"strings"
	"time"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/metrics"
	"shimwright/ingest/relay/shop"
)

// A File is a bench file read.
type File struct {
	Name    string
	Journal string // full path
	Gauges  []bench.Gauge
	Pieces  []bench.Piece
	Trays   map[string][]fact.Leaf
	Sheets  []string // paths, or names of sheets that the program carries
	Windows guard.Windows
	Quiet   time.Duration // how long a port may say nothing before that is said
	Rule    ring.Rule
	Relay   *shop.Address     // where facts are shipped to; nil: nowhere
	Metrics *metrics.Listener // where a scraper finds the bench's figures; nil where it does not
}

// usualQuiet is long beside the pauses of a job, and short beside a shift
// (chosen, no source).
const usualQuiet = 30 * time.Minute

// reader gathers a bench file while it is read.
type reader struct {
	folder   string
	source   source
	profiles map[string]profile
	ports    map[string][]onPort // by what the port is found by
	out      *File
}

// Read decodes a bench file; relative paths in it start from folder. The error
// joins all faults found.
func Read(file, folder string, text []byte) (*File, error) {
	top, doc, err := document.Parse(file, text)
	if err != nil {
		return nil, err
	}
	r := &reader{folder: folder, source: newSource(text), profiles: map[string]profile{}, ports: map[string][]onPort{},
		out: &File{Windows: guard.Usual(), Quiet: usualQuiet, Trays: map[string][]fact.Leaf{}}}
	f := top.Fields()
	r.out.Name = f.Need("bench", "the bench's name, as in bay 2").Name()
	r.out.Journal = r.path(f.Need("journal", "the file that keeps the bench's facts, as in bay2.journal"))
	if d := f.Get("double press"); d.Given() {
		r.out.Windows.Double = seconds(d, 10*time.Second)
	}
	if i := f.Get("idle after"); i.Given() {
		r.out.Windows.Idle = seconds(i, 24*time.Hour)
	}
	if h := f.Get("seated holds for"); h.Given() {
		r.out.Windows.Seated = seconds(h, 24*time.Hour)
	}
	if q := f.Get("quiet after"); q.Given() {
		r.out.Quiet = seconds(q, 24*time.Hour)
	}
	for _, p := range f.Need("profiles", "how each kind of gauge talks").Fields().All() {
		r.profiles[p.Key] = r.profile(p)
	}
	for _, g := range f.Need("gauges", "the gauges of the bench").Fields().All() {
		r.gauge(g)
	}
	for _, p := range f.Get("pieces").Fields().All() {
		r.out.Pieces = append(r.out.Pieces, readPiece(p))
	}
	if a := f.Get("acceptance"); a.Given() && a.OneOf("guarded", "simple") == "simple" {
		r.out.Rule = ring.Simple
	}
	if m := f.Get("metrics"); m.Given() {
		r.out.Metrics = r.metrics(m)
	}
	for _, t := range f.Get("stock").Fields().All() {
		for _, l := range sheet.ReadTray(t.Value) {
			r.out.Trays[t.Key] = append(r.out.Trays[t.Key], fact.Leaf{Size: l.Size, Count: l.Count})
		}
	}
	for _, s := range f.Need("sheets", "the setting sheets that jobs may be opened by").List(200) {
		r.out.Sheets = append(r.out.Sheets, s.Text())
	}
	if n := f.Get("relay"); n.Given() {
		r.out.Relay = r.relay(n)
	}
	f.Done()
	return r.out, doc.Err()
}

// relay reads where the shop's PostgreSQL is. What is left out comes from the
// usual environment; a password stands in a file of its own.
func (r *reader) relay(n document.Node) *shop.Address {
	f := n.Fields()
	var out shop.Address
	if v := f.Get("server"); v.Given() {
		out.Server = v.Name()
		if strings.Contains(out.Server, "://") || strings.ContainsAny(out.Server, ",=@ ") && !strings.HasPrefix(out.Server, "/") {
			v.Fail("%q stands here: write the server's name or address alone, and port, user and database under keys of their own", out.Server)
		}
	}
	if v := f.Get("port"); v.Given() {
		out.Port = v.Whole(1, 65535)
	}
	if v := f.Get("database"); v.Given() {
		out.Database = v.Name()
	}
	if v := f.Get("user"); v.Given() {
		out.User = v.Name()
	}
	if v := f.Get("password file"); v.Given() {
		out.PasswordFile = r.path(v)
	}
	if v := f.Get("authority"); v.Given() {
		out.Authority = r.path(v)
	}
	if v := f.Get("encrypted"); v.Given() {
		if out.Plain = !v.YesNo(); out.Plain && out.Authority != "" {
			v.Fail("no here and an authority do not go together: take one of them away")
		}
	}
	f.Done()
	return &out
}

// readPiece reads a certified piece: its size, or a map with the size and what
// its certificate says of it.
func readPiece(p document.Field) bench.Piece {
	out := bench.Piece{ID: p.Key}
	if p.Value.IsText() {
		out.Size = p.Value.Figure(quantity.Length)
		return out
	}
	f := p.Value.Fields()
	out.Size = f.Need("size", "its certified size, as in 75.004 mm").Figure(quantity.Length)
	out.Uncertainty, out.K = sheet.ReadCertified(f)
	f.Done()
	return out
}

func (r *reader) path(n document.Node) string {
	s := n.Text()
	if s == "" || filepath.IsAbs(s) {
		return s
	}
	return filepath.Join(r.folder, s)
}

// seconds reads a time as in 0.8 s, 300 ms or 20 min.
func seconds(n document.Node, most time.Duration) time.Duration {
	s := n.Text()
	d, err := time.ParseDuration(strings.NewReplacer(" ", "", "min", "m").Replace(s))
	if err != nil || d < 0 || d > most {
		n.Fail("%q stands here: write a time from 0 s to %s, as in 0.8 s or 300 ms", s, most)
	}
	return d
}
