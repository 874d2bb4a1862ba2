package main

import (
	"path/filepath"
	"testing"

	"shimwright/calc/overhaul"
)

// storyJobsForJSON are stories of what to change, and a what-if on one.
func storyJobsForJSON(t *testing.T, out map[string]*overhaul.Results) {
	t.Helper()
	stories := filepath.Join("..", "..", "testdata", "stories")
	s, err := readSheet(filepath.Join(stories, "dm3.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	for name, instead := range map[string]string{
		"earlier-moves": "", "pinion-in": "", "other-setting": "", "other-setting-waits": "", "no-pack": "", "earlier-disagree": "",
		"two-answers": "packs-instead.yaml",
	} {
		if instead != "" {
			instead = filepath.Join(stories, "instead", instead)
		}
		if out["story "+name], err = workInstead(s, filepath.Join(stories, name+".yaml"), instead); err != nil {
			t.Fatal(err)
		}
	}
}
