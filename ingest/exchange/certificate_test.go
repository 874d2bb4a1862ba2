package exchange_test

import (
	"bytes"
	"encoding/xml"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/ingest/exchange"
	"shimwright/ingest/fact"
	"shimwright/ingest/register"
)

func paper(t testing.TB, version string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "dcc", "piece_"+version+".xml"))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func certificate(t testing.TB, text string) exchange.PaperCertificate {
	t.Helper()
	c, err := exchange.ReadCertificate([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// today is the day on which certificates of the tests are taken in.
func today() time.Time { return time.Date(2026, 2, 3, 9, 0, 0, 0, time.UTC) }

func day(t testing.TB, s string) fact.Day {
	t.Helper()
	d, err := fact.ParseDay(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Both versions say the same: conditions, temperatures and nominal sizes are no
// size of the piece.
func TestReadCertificate(t *testing.T) {
	for _, c := range []struct{ version, size, u, k string }{
		{"3.1.2", "75.0040 mm", "0.0012 mm", "2"},
		{"3.2.1", "75.0040 mm", "0.0012 mm", "2.0"},
	} {
		got := certificate(t, paper(t, c.version))
		if got.Number != "C-1177" || got.Dated.String() != "2026-01-13" || got.Item != "post 75 mm" || got.Laboratory != "an invented laboratory" || got.Version != c.version || len(got.Digest) != 64 {
			t.Errorf("%s: %+v", c.version, got)
		}
		if diff := cmp.Diff([]exchange.Number{{Issuer: "manufacturer", Value: "88-1043"}, {Issuer: "owner", Value: "S-31"}}, got.Numbers); diff != "" {
			t.Error(diff)
		}
		if len(got.Lengths) != 1 || got.Lengths[0].Name != "length, length at 20 degC" {
			t.Fatalf("%s: %+v", c.version, got.Lengths)
		}
		if l := got.Lengths[0]; l.Size.String() != c.size || l.Uncertainty.String() != c.u || l.K.String() != c.k {
			t.Errorf("%s: %s ± %s (k %s)", c.version, l.Size, l.Uncertainty, l.K)
		}
	}
}

// The later form of uncertainties in D-SI is read as well.
func TestLaterUncertainty(t *testing.T) {
	text := paper(t, "3.1.2")
	text = strings.ReplaceAll(text, "<si:expandedUnc><si:uncertainty>0.0012</si:uncertainty>", "<si:measurementUncertaintyUnivariate><si:expandedMU><si:valueExpandedMU>0.0012</si:valueExpandedMU>")
	text = strings.ReplaceAll(text, "</si:expandedUnc>", "</si:expandedMU></si:measurementUncertaintyUnivariate>")
	if l := certificate(t, text).Lengths[0]; l.Uncertainty.String() != "0.0012 mm" || l.K.String() != "2" {
		t.Errorf("%+v", l)
	}
}

// bomb is nine entities, each ten of the last: a thousand million times the word.
func bomb() string {
	var b strings.Builder
	b.WriteString(`<!DOCTYPE x [<!ENTITY a "lol">`)
	for c := 'b'; c < 'k'; c++ {
		b.WriteString(`<!ENTITY ` + string(c) + ` "` + strings.Repeat("&"+string(c-1)+";", 10) + `">`)
	}
	b.WriteString(`]>`)
	return b.String()
}

// The library itself expands nothing, even where the document type is let pass:
// an entity that a file declares is no entity to it.
func TestLibraryExpandsNothing(t *testing.T) {
	for _, text := range []string{bomb() + "<x>&j;</x>", `<!DOCTYPE x [<!ENTITY f SYSTEM "file:///etc/passwd">]><x>&f;</x>`} {
		d := xml.NewDecoder(strings.NewReader(text))
		var err error
		for err == nil {
			var token xml.Token
			token, err = d.Token()
			if words, ok := token.(xml.CharData); ok {
				t.Errorf("%q came out", words)
			}
		}
		if !strings.Contains(err.Error(), "invalid character entity") {
			t.Error(err)
		}
	}
}

func TestRefusedCertificates(t *testing.T) {
	good := paper(t, "3.2.1")
	head := `<?xml version="1.0" encoding="UTF-8"?>`
	put := func(old, now string) string {
		if !strings.Contains(good, old) {
			t.Fatalf("%q is not in the certificate", old)
		}
		return strings.ReplaceAll(good, old, now)
	}
	for name, c := range map[string]struct{ text, want string }{
		"bomb":              {put(head, head+bomb()), "it has a document type"},
		"entity from afar":  {put(head, head+`<!DOCTYPE x SYSTEM "file:///etc/passwd">`), "it has a document type"},
		"unknown entity":    {put("post 75 mm", "post &xxe; mm"), "only XML's own five are read, and nothing is expanded"},
		"deep":              {strings.Repeat("<a>", 100), "more than 64 inside one another"},
		"many":              {"<a>" + strings.Repeat("<b/>", 200_001), "more than 200000 elements"},
		"attributes":        {"<a " + strings.Repeat(`b="" `, 65) + "/>", "more than 64 attributes"},
		"big":               {head + strings.Repeat(" ", 16<<20), "more than 16 MiB"},
		"other encoding":    {put(`encoding="UTF-8"`, `encoding="UTF-16"`), "it is no sound XML"},
		"half":              {good[:len(good)/2], "it is no sound XML"},
		"two":               {"<a/><b/>", "it holds 2 elements on the outside"},
		"nothing":           {"", "it holds 0 elements"},
		"no XML":            {"%PDF-1.7 \x00", "it is no sound XML"},
		"wrong namespace":   {put("https://ptb.de/dcc", "https://example.org/dcc"), `in the namespace "https://example.org/dcc"`},
		"values' namespace": {put("https://ptb.de/si", "https://example.org/si"), "it gives no length"},
		"something else":    {`<QIFDocument xmlns="http://qifstandards.org/xsd/qif3"/>`, "no digital calibration certificate"},
		"older version":     {put(`schemaVersion="3.2.1"`, `schemaVersion="2.4.0"`), `it is a certificate of version "2.4.0"`},
		"newer version":     {put(`schemaVersion="3.2.1"`, `schemaVersion="3.20.0"`), `it is a certificate of version "3.20.0"`},
		"no unit":           {put(`<si:unit>\metre</si:unit>`, ""), "has no unit"},
		"empty unit":        {put(`<si:unit>\metre</si:unit>`, "<si:unit> </si:unit>"), "has no unit"},
		"other unit":        {put(`\metre</si:unit>`, `\inch</si:unit>`), "it gives no length"},
		"no uncertainty":    {put("expandedUnc>", "coverageInterval>"), "has no expanded uncertainty"},
		"no k":              {put("<si:coverageFactor>2.0</si:coverageFactor>", ""), "has no expanded uncertainty with its coverage factor"},
		"no figure":         {put("<si:value>0.0750040<", "<si:value>NaN<"), `"NaN" is no decimal number`},
		"huge exponent":     {put("<si:value>0.0750040<", "<si:value>1e999999999<"), "is no decimal number"},
		"too many digits":   {put("<si:value>0.0750040<", "<si:value>0.07500400000001<"), "at most 9"},
		"no number":         {put("C-1177", " "), "the certificate's own number is empty"},
		"hidden":            {put("C-1177", "C-11\u202e77"), "characters that do not print"},
		"no day":            {put("2026-01-13", "13.1.2026"), "the day of the calibration"},
		"no identification": {strings.ReplaceAll(put("S-31", ""), "88-1043", ""), "its item has no number"},
		"two items":         {put("</dcc:item>", "</dcc:item><dcc:item/>"), "it is of 2 items"},
	} {
		c0, err := exchange.ReadCertificate([]byte(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q (%+v)", name, err, c.want, c0)
		}
	}
}

// known is a register with piece S-31 as an earlier certificate had it.
func known(t testing.TB, facts ...fact.Fact) *register.Register {
	t.Helper()
	r := register.New()
	for _, f := range facts {
		var err error
		if r, err = r.Then(register.PieceSubject("S-31"), today().Add(-time.Hour), f); err != nil {
			t.Fatal(err)
		}
	}
	return r
}

func certified(t testing.TB, size, dated string) fact.Certified {
	return fact.Certified{Standard: "tall posts", Size: value(t, size), Certificate: fact.Certificate{Number: "C-903", Dated: day(t, dated)}}
}

func TestPieceFrom(t *testing.T) {
	c := certificate(t, paper(t, "3.2.1"))
	etched, far := value(t, "75.00 mm"), value(t, "2.953 in")
	newer := fact.Withdrawn{Reason: "dropped"}
	for name, x := range map[string]struct {
		asked exchange.Asked
		known []fact.Fact
		id    string // of the piece
		words string // all of them
		want  string // or the error
	}{
		"new":           {id: "S-31", words: "Piece S-31 is new in the register."},
		"known":         {known: []fact.Fact{certified(t, "75.003 mm", "2025-01-10")}, id: "S-31", words: "The size in the register is 75.003 mm: the certified one is 0.001 mm more."},
		"etched":        {asked: exchange.Asked{Etched: &etched}, id: "S-31", words: "The size etched on it is 75.00 mm: the certified one is 0.004 mm more. Piece S-31 is new in the register."},
		"other etched":  {asked: exchange.Asked{Etched: &far}, id: "S-31", words: "The size etched on it is 2.953 in: the certified one is 0.0022 mm less. Piece S-31 is new in the register."},
		"by the serial": {asked: exchange.Asked{Piece: "P7", Serial: "88-1043"}, id: "P7", words: "Piece P7 is new in the register."},
		"again in use":  {known: []fact.Fact{certified(t, "60 mm", "2025-01-10"), newer}, id: "S-31", words: "Piece S-31 is withdrawn: dropped. This puts it in use again."},
		"another piece": {asked: exchange.Asked{Piece: "S-32"}, want: `the certificate is of another piece: "88-1043" by its manufacturer, "S-31" by its owner, and "S-32" is none of them`},
		"other serial":  {asked: exchange.Asked{Piece: "S-31", Serial: "88-1044"}, want: `"88-1044" is none of them`},
		"path":          {asked: exchange.Asked{Piece: "../../x\u202e", Serial: "88-1043"}, want: "holds characters that do not print"},
		"expired":       {asked: exchange.Asked{Due: day(t, "2026-02-02")}, want: "the certificate was due on 2026-02-02: it has expired"},
		"due before":    {asked: exchange.Asked{Due: day(t, "2025-12-01")}, want: "before it was written"},
		"other size":    {known: []fact.Fact{certified(t, "50.002 mm", "2025-01-10")}, want: "25.002 mm more, and at most 0.1 mm is believed: is it this piece?"},
		"newer known":   {known: []fact.Fact{certified(t, "75.003 mm", "2026-01-20")}, want: "the register has a newer certificate of piece S-31, C-903 of 2026-01-20; this one is of 2026-01-13"},
		"no length":     {asked: exchange.Asked{Length: "width"}, want: `choose one by a part of its name, with --length`},
	} {
		got, err := exchange.PieceFrom(c, x.asked, known(t, x.known...), today())
		if x.want != "" {
			if err == nil || !strings.Contains(err.Error(), x.want) {
				t.Errorf("%s: %v, want %q", name, err, x.want)
			}
			continue
		}
		if err != nil || got.ID != x.id || strings.Join(got.Words, " ") != x.words {
			t.Errorf("%s: %v, %s, %q", name, err, got.ID, got.Words)
		}
		if got.Fact.Certificate.Digest != c.Digest || got.Fact.Certificate.Number != "C-1177" || got.Fact.Certificate.Dated.String() != "2026-01-13" {
			t.Errorf("%s: %+v", name, got.Fact.Certificate)
		}
	}
}

func TestCertificateTwice(t *testing.T) {
	c := certificate(t, paper(t, "3.2.1"))
	p, err := exchange.PieceFrom(c, exchange.Asked{}, known(t), today())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := exchange.PieceFrom(c, exchange.Asked{}, known(t, p.Fact), today()); err == nil || !strings.Contains(err.Error(), "is in the register already") {
		t.Error(err)
	}
	if _, err := exchange.PieceFrom(c, exchange.Asked{}, known(t), today().AddDate(0, -1, 0)); err == nil || !strings.Contains(err.Error(), "yet to come") {
		t.Error(err)
	}
	without := certificate(t, strings.ReplaceAll(paper(t, "3.2.1"), ">owner<", ">other<"))
	if _, err := exchange.PieceFrom(without, exchange.Asked{}, known(t), today()); err == nil || !strings.Contains(err.Error(), "say which piece it is of with --piece") {
		t.Error(err)
	}
}

// Whatever comes, it is refused in words or gives lengths of at most nine digits.
func FuzzCertificate(f *testing.F) {
	f.Add([]byte(paper(f, "3.1.2")))
	f.Add([]byte(paper(f, "3.2.1")))
	f.Add([]byte(bomb()))
	f.Add([]byte(`<a xmlns="https://ptb.de/dcc"><![CDATA[x]]></a>`))
	f.Fuzz(func(t *testing.T, b []byte) {
		c, err := exchange.ReadCertificate(b)
		if err != nil {
			if !strings.ContainsAny(err.Error(), " ") || bytes.ContainsRune([]byte(err.Error()), 0x202e) {
				t.Errorf("%q", err)
			}
			return
		}
		for _, l := range c.Lengths {
			if l.Size.Unit() != quantity.MM || l.Uncertainty.Unit() != quantity.MM || l.K.Unit() != quantity.Bare {
				t.Errorf("%+v", l)
			}
		}
	})
}

func FuzzPlainDecimal(f *testing.F) {
	f.Add("75.004e-1", 3)
	f.Fuzz(func(t *testing.T, s string, shift int) {
		got, err := exchange.PlainDecimal(s, shift%10)
		if err != nil {
			return
		}
		if back, err := exchange.PlainDecimal(got, -(shift % 10)); err != nil || exchange.Figure(back).CSV() == "" {
			t.Errorf("%q by %d is %q, and back %q (%v)", s, shift, got, back, err)
		}
	})
}
