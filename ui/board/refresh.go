package board

import (
	"shimwright/ingest/store"
)

// A page is what a listing shows, where that changes while it is looked at.
type page struct {
	job  store.Job // its number is "" where the listing is none of a job's
	step string    // "" is the whole job
}

// openPages is the job whose pages are open; false where none are.
func (v *view) openPages() (store.Job, bool) {
	for _, l := range v.stack {
		if l.page.job.ID != "" {
			return l.page.job, true
		}
	}
	return store.Job{}, false
}

// fresh tells whether a job may have facts that the model before did not know.
func (m *Model) fresh(j store.Job) bool {
	if m.Fresh == nil {
		return true
	}
	for _, x := range m.Fresh {
		if key(x) == key(j) {
			return true
		}
	}
	return false
}

// refresh has the job whose pages are open read anew where a model tells that
// something happened to it, or where missed says that news may not have got here.
func (u *ui) refresh(m *Model, missed bool) {
	if of, open := u.view.openPages(); open && (missed || m.fresh(of)) {
		u.behind = true
	}
	u.catchUp()
}

// catchUp reads the job whose pages are open where they are behind, and once more
// where something happened to it meanwhile. What cannot be read leaves them as they
// are and is tried again a second later.
func (u *ui) catchUp() {
	of, open := u.view.openPages()
	if !open || !u.behind || u.refreshing {
		return
	}
	u.behind, u.refreshing = false, true
	zone := u.view.now.Location()
	u.running.Go(func() {
		f, err := u.fold(u.ctx, of, zone)
		u.tell(u.ctx, func() {
			u.refreshing = false
			if err != nil {
				u.behind = true
				return
			}
			u.view.renew(of, f)
			u.catchUp()
		})
	})
}

// renew puts new pages in the place of a job's old ones; the chosen lines stay.
func (v *view) renew(of store.Job, f folded) {
	for i, l := range v.stack {
		if key(l.page.job) != key(of) || l.page.job.ID == "" {
			continue
		}
		next := jobListing(f, v.names)
		if step := l.page.step; step != "" {
			if f.res == nil || f.res.Of(step) == nil {
				continue
			}
			next = stepListing(f, f.res.Of(step), v.names, v.width)
		}
		next.at = l.at
		next.settle(0)
		v.stack[i] = next
	}
}
