package register

import (
	"fmt"
	"slices"
	"time"

	"shimwright/devices"
	"shimwright/ingest/fact"
)

// An Approval is a lead's yes to one text of a sheet.
type Approval struct {
	Sheet string
	fact.Approved
	Since time.Time
}

func (r *Register) foldSheet(id string, at time.Time, f fact.Fact) error {
	if err := fact.CheckName("the sheet's name", id); err != nil {
		return err
	}
	switch f := f.(type) {
	case fact.Approved:
		if err := checkDigest(f.Digest); err != nil || f.Digest == "" {
			return fmt.Errorf("sheet %s: %s is no digest of its text: approve it anew", id, devices.Quote([]byte(f.Digest)))
		}
		if f.By.Initials == "" {
			return fmt.Errorf("sheet %s: nobody approved it: a lead does (shimwright sheet approve)", id)
		}
		r.sheets[id] = append(slices.Clip(r.sheets[id]), Approval{id, f, at})
	case fact.Withdrawn:
		if err := fact.CheckReason("the reason", f.Reason); err != nil {
			return err
		}
		r.sheets[id] = nil
	default:
		return errAlien("a sheet")
	}
	return nil
}

// Approved is the last approval of a sheet's text, by the text's digest (SHA-256
// in hexadecimal, as in fact.Opened); false where nobody approved it, or it was
// taken back.
func (r *Register) Approved(digest string) (Approval, bool) {
	for _, id := range sorted(r.sheets) {
		for _, a := range slices.Backward(r.sheets[id]) {
			if a.Digest == digest {
				return a, true
			}
		}
	}
	return Approval{}, false
}
