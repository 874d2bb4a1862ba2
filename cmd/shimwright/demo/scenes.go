package demo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// A Scene is a job that stands at a situation worth seeing, as its facts. It is
// put into a journal and folded like any job.
type Scene struct {
	Name  string   `json:"scene"`
	Say   string   `json:"say"`   // what is to be seen, in one sentence
	Sheet string   `json:"sheet"` // one that the program carries
	At    string   `json:"at,omitempty"`
	Gone  []string `json:"gone,omitempty"` // gauges that are pulled out once the bench runs
	// Finish has the job finished once the bench runs.
	Finish bool      `json:"finish,omitempty"`
	Lines  []Written `json:"-"`
}

// Written is a fact as a scene's file holds it.
type Written struct {
	Kind    string          `json:"kind"`
	Version int             `json:"version"`
	Fact    json.RawMessage `json:"fact"`
}

// sceneJob is the subject that a scene's facts are of.
const sceneJob = "job/0001"

// Scenes names the scenes there are.
func Scenes() []string {
	found, err := files.ReadDir("scenes")
	if err != nil {
		return nil
	}
	var out []string
	for _, f := range found {
		out = append(out, strings.TrimSuffix(f.Name(), path.Ext(f.Name())))
	}
	return out
}

// ReadScene reads a scene's file: its head, then a fact a line.
func ReadScene(name string) (Scene, error) {
	text, err := files.ReadFile("scenes/" + name + ".jsonl")
	if err != nil {
		return Scene{}, fmt.Errorf("there is no scene %q: the scenes are %s", name, strings.Join(Scenes(), ", "))
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	var s Scene
	if err := d.Decode(&s); err != nil {
		return Scene{}, fmt.Errorf("scene %s: its first line: %w", name, err)
	}
	for n := 2; ; n++ {
		var w Written
		if err := d.Decode(&w); errors.Is(err, io.EOF) {
			return s, nil
		} else if err != nil {
			return Scene{}, fmt.Errorf("scene %s, line %d: %w", name, n, err)
		}
		s.Lines = append(s.Lines, w)
	}
}

// Records are a scene's facts for the journal. The sheet's text, which the file
// leaves out, is put in where the job was opened.
func (s Scene) Records(text []byte) ([]journal.Record, error) {
	sum := sha256.Sum256(text)
	digest := hex.EncodeToString(sum[:])
	var out []journal.Record
	for i, w := range s.Lines {
		f, err := fact.Decode(journal.Stored{Seq: int64(i + 1), Record: journal.Record{Subject: sceneJob, Kind: w.Kind, Version: w.Version, Payload: w.Fact}})
		if err != nil {
			return nil, fmt.Errorf("scene %s: %w", s.Name, err)
		}
		switch x := f.(type) {
		case fact.Opened:
			x.Text, x.Digest = string(text), digest
			f = x
		case fact.Judged:
			x.Digest = digest
			f = x
		}
		r, err := fact.Encode(sceneJob, f)
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

// Write writes a scene's file.
func (s Scene) Write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	if err := e.Encode(s); err != nil {
		return err
	}
	for _, l := range s.Lines {
		if err := e.Encode(l); err != nil {
			return err
		}
	}
	return nil
}
