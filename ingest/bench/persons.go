package bench

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/people"
)

// By carries a command out in somebody's name: by his initials, and his PIN
// where he has one.
type By struct {
	Initials, PIN string
	Command       Command
}

func (c By) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if _, twice := c.Command.(By); twice || c.Command == nil {
		return Reply{}, errors.New("a command is carried out in one person's name")
	}
	b.who = &c
	defer func() { b.who = nil }()
	return c.Command.carryOut(ctx, b)
}

// signature is that of who gave the command. Where the bench has a list of
// people it is held to the list and to the task's rule; where it has none,
// initials are enough, and where they are not needed none are too.
func (b *Bench) signature(task people.Task, needed bool, first []string) (fact.Signature, error) {
	if b.who == nil || strings.TrimSpace(b.who.Initials) == "" {
		if b.people.Asks() || needed {
			return fact.Signature{}, fmt.Errorf("nobody says who does this: write the initials of somebody who may %s, and the PIN where there is one", task)
		}
		return fact.Signature{}, nil
	}
	if b.people.Asks() {
		s, tries, err := b.people.Sign(b.tries, people.Asked{Task: task, Initials: b.who.Initials, PIN: b.who.PIN, First: first, At: b.cfg.Now()})
		b.tries = tries
		return s, err
	}
	initials, err := fact.ReadInitials(b.who.Initials)
	if err != nil {
		return fact.Signature{}, err
	}
	if task == people.SecondLook || task == people.SignSecond {
		for _, f := range first {
			if err := guard.MayLook(f, initials); err != nil {
				return fact.Signature{}, fmt.Errorf("%s did the work: a second person is another", initials)
			}
		}
	}
	return fact.Signature{Initials: initials, By: fact.ByInitials}, nil
}

// signs are a signature's words at the end of a sentence; "" for none.
func signs(s fact.Signature) string {
	if s.Initials == "" {
		return ""
	}
	return " (" + s.String() + ")"
}

// StartWork says who works at the job in front from here on: whoever gives the
// command.
type StartWork struct{}

func (c StartWork) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, errNoJob()
	}
	by, err := b.signature(people.WorkAt, true, nil)
	if err != nil {
		return Reply{}, err
	}
	if err := b.record(ctx, fact.AtWork{By: by}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("%s works at job %s.", by, b.job.ID)}, nil
}

func errNoJob() error { return errors.New("no job is open: open one first") }
