package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/people"
	"shimwright/ingest/register"
)

// newPeople is the command on who works at the bench.
func newPeople() *cobra.Command {
	return group("people", "List who works at this bench; put people on the list, set PINs",
		`List the people of a bench with their roles. The roles are fitter, second person,
lead and gauge keeper. While nobody is on the list, nobody is asked to sign.

Changing the list writes to the journal, which a running bench keeps for itself:
stop it first. Once there is a lead, a lead changes the list (--by).

A PIN keeps a colleague from signing for another at the bench. Its hash is in the
journal, whose owner can try all short PINs: it is no lock against him.`,
		listPeople, newPeopleAdd, newPeoplePIN, newPeopleLeft)
}

func listPeople(c *cobra.Command, bench string) error {
	return look(c, bench, func(d *desk, _ *journal.Reader) error {
		list := d.people.List()
		if len(list) == 0 {
			return say(c, "Nobody is on the list of %s: shimwright people add puts people on it.", d.file.Name)
		}
		rows := [][]string{{"initials", "name", "roles", "signs by"}}
		for _, p := range list {
			by := string(fact.ByInitials)
			switch {
			case p.Gone:
				by = "has left"
			case p.HasPIN():
				by = string(fact.ByPIN)
			}
			rows = append(rows, []string{p.Initials, p.Name, joinRoles(p.Roles), by})
		}
		return table(c.OutOrStdout(), rows)
	})
}

func joinRoles(roles []fact.Role) string {
	var out []string
	for _, r := range roles {
		out = append(out, string(r))
	}
	return strings.Join(out, ", ")
}

func newPeopleAdd(bench *string) *cobra.Command {
	var roles []string
	var by string
	c := &cobra.Command{
		Use:   "add INITIALS NAME --role ROLE",
		Short: "Put a person on the list, or change a name or roles",
		Long: `Put a person on the list, with one or more roles (--role again for each): fitter,
second person, lead, gauge keeper. For somebody who is on it, change the name and
the roles; the PIN stays.`,
		Example: `  shimwright people add AB "Ada Birch" --role fitter --role "second person"`,
		Args:    takes("INITIALS", "NAME"),
		RunE: func(c *cobra.Command, args []string) error {
			initials, err := fact.ReadInitials(args[0])
			if err != nil {
				return err
			}
			f := fact.Joined{Name: strings.TrimSpace(args[1])}
			for _, r := range roles {
				f.Roles = append(f.Roles, fact.Role(r))
			}
			if err := people.CheckJoined(f); err != nil {
				return err
			}
			return change(c, *bench, func(ctx context.Context, d *desk) error {
				was := d.people
				if f.By, err = d.signed(ctx, people.KeepPeople, by); err != nil {
					return err
				}
				if err := d.keep(ctx, register.About{Subject: people.Subject(initials), Fact: f}); err != nil {
					return err
				}
				return sayJoined(c, d, initials, f, was)
			})
		},
	}
	c.Flags().StringArrayVar(&roles, "role", nil, "fitter, second person, lead or gauge keeper; again for each")
	byFlag(c, &by)
	return c
}

// sayJoined tells who is on the list now, and who or what stood there before: the
// same initials may be another person's.
func sayJoined(c *cobra.Command, d *desk, initials string, f fact.Joined, was people.People) error {
	words := fmt.Sprintf("%s, %s, is on the list: %s.", initials, f.Name, joinRoles(f.Roles))
	if i := slices.IndexFunc(was.List(), func(p people.Person) bool { return p.Initials == initials }); i >= 0 {
		if before := was.List()[i]; before.Name != f.Name || !slices.Equal(before.Roles, f.Roles) {
			words += fmt.Sprintf(" Before: %s, %s.", before.Name, joinRoles(before.Roles))
		}
	}
	if err := say(c, "%s", words); err != nil {
		return err
	}
	return sayNoLead(c, d, was)
}

// sayNoLead tells that the last lead is gone: from then on the list is anybody's.
func sayNoLead(c *cobra.Command, d *desk, was people.People) error {
	if len(was.With(fact.Lead)) == 0 || len(d.people.With(fact.Lead)) > 0 {
		return nil
	}
	return say(c, "No lead is on the list now: anybody may change it until one is (shimwright people add … --role lead).")
}

func byFlag(c *cobra.Command, by *string) {
	c.Flags().StringVar(by, "by", "", "initials of who does this")
}

func newPeoplePIN(bench *string) *cobra.Command {
	var by string
	var none bool
	c := &cobra.Command{
		Use:   "pin INITIALS",
		Short: "Set a person's PIN, or take it away",
		Long: `Set a person's PIN, 4 to 12 digits. It is asked for on the terminal and not shown;
without a terminal it is read from standard input, one line, and never from the
command line. The person's old PIN is asked for first, or with --by a lead's.`,
		Args: takes("INITIALS"),
		RunE: func(c *cobra.Command, args []string) error {
			return change(c, *bench, func(ctx context.Context, d *desk) error {
				return setPIN(ctx, c, d, args[0], by, none)
			})
		},
	}
	c.Flags().BoolVar(&none, "none", false, "take the PIN away")
	byFlag(c, &by)
	return c
}

func setPIN(ctx context.Context, c *cobra.Command, d *desk, initials, by string, none bool) error {
	who, err := d.people.Who(initials)
	if err != nil {
		return err
	}
	var f fact.PINSet
	if by == "" {
		f.By, err = d.known(ctx, who.Initials)
	} else {
		f.By, err = d.signed(ctx, people.KeepPeople, by)
	}
	if err != nil {
		return err
	}
	words := "signs by initials only"
	if !none {
		words = "signs by PIN"
		if f.Hash, err = d.newPIN(ctx, who.Initials); err != nil {
			return err
		}
	}
	if err := d.keep(ctx, register.About{Subject: people.Subject(who.Initials), Fact: f}); err != nil {
		return err
	}
	return say(c, "%s, %s, %s.", who.Initials, who.Name, words)
}

// newPIN asks for a new PIN, on a terminal twice, since nobody sees what is typed.
func (d *desk) newPIN(ctx context.Context, initials string) (string, error) {
	pin, err := d.secrets.ask(ctx, "new PIN of "+initials+": ")
	if err != nil {
		return "", err
	}
	hash, err := people.HashPIN(pin, people.UsualCost)
	if err != nil {
		return "", err
	}
	if d.secrets.lines == nil {
		again, err := d.secrets.ask(ctx, "the same again: ")
		if err != nil {
			return "", err
		}
		if again != pin {
			return "", fmt.Errorf("the two PINs differ: nothing was changed, begin again")
		}
	}
	return hash, nil
}

func newPeopleLeft(bench *string) *cobra.Command {
	var by string
	c := &cobra.Command{
		Use:   "left INITIALS",
		Short: "Say that a person works here no more",
		Long: `Say that a person works here no more and signs nothing from now on. What was
signed stays; the initials stay taken. people add puts the person back.`,
		Args: takes("INITIALS"),
		RunE: func(c *cobra.Command, args []string) error {
			return change(c, *bench, func(ctx context.Context, d *desk) error {
				who, err := d.people.Who(args[0])
				if err != nil {
					return err
				}
				was := d.people
				s, err := d.signed(ctx, people.KeepPeople, by)
				if err != nil {
					return err
				}
				if err := d.keep(ctx, register.About{Subject: people.Subject(who.Initials), Fact: fact.Left{By: s}}); err != nil {
					return err
				}
				if err := say(c, "%s, %s, has left since %s.", who.Initials, who.Name, d.now.Format(time.DateOnly)); err != nil {
					return err
				}
				return sayNoLead(c, d, was)
			})
		},
	}
	byFlag(c, &by)
	return c
}
