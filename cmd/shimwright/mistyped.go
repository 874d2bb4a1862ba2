package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shimwright/devices"
)

// inOurWords has a command and all below it say what is wrong with a command line
// in sentences of our own: what was found, and what to write instead. The
// library's are for programmers.
func inOurWords(c *cobra.Command) {
	check := c.Args
	c.Args = func(c *cobra.Command, args []string) error {
		if check != nil {
			if err := check(c, args); err != nil {
				return argsError(c, args, err)
			}
		}
		return groupsError(c)
	}
	c.SetFlagErrorFunc(flagError)
	for _, sub := range c.Commands() {
		inOurWords(sub)
	}
}

// A takesError is of our own words already.
type takesError struct{ words string }

func (e *takesError) Error() string { return e.words }

// takes holds a command to its arguments, by their names.
func takes(names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) == len(names) {
			return nil
		}
		return &takesError{tookWords(c, strings.Join(names, " and "), len(args), strings.Join(names, " "))}
	}
}

func tookWords(c *cobra.Command, takes string, given int, write string) string {
	were := "were"
	if given == 1 {
		were = "was"
	}
	return fmt.Sprintf("%s takes %s, and %d %s given: write %s %s", c.Name(), takes, given, were, c.CommandPath(), write)
}

// argsError says what is wrong with what stands behind a command.
func argsError(c *cobra.Command, args []string, err error) error {
	var ours *takesError
	switch {
	case errors.As(err, &ours):
		return err
	case c.HasAvailableSubCommands() && len(args) > 0:
		return unknownCommand(c, args[0])
	case len(c.ValidArgs) > 0 && len(args) == 1:
		return fmt.Errorf("%s knows no %s: %s", c.Name(), quoted(args[0]), instead(args[0], c.ValidArgs, "write "+strings.Join(c.ValidArgs, " or ")))
	}
	_, wants, some := strings.Cut(strings.TrimSuffix(c.UseLine(), " [flags]"), c.CommandPath()+" ")
	switch {
	case !some && len(args) > 0:
		return fmt.Errorf("%s takes nothing but flags, and %s stands behind it: write %s", c.Name(), quoted(args[0]), c.CommandPath())
	case !some:
		return err
	}
	return &takesError{tookWords(c, wants, len(args), wants)}
}

func quoted(s string) string { return devices.Quote([]byte(s)) }

// unknownCommand tells the commands there are, or the one that was meant.
func unknownCommand(c *cobra.Command, typed string) error {
	var names []string
	for _, sub := range c.Commands() {
		if sub.IsAvailableCommand() {
			names = append(names, sub.Name())
		}
	}
	return fmt.Errorf("%s no command %s: %s", subject(c), quoted(typed), instead(typed, names, "write one of "+strings.Join(names, ", ")))
}

// subject begins a sentence on what a command has; of the program itself nobody needs
// the name.
func subject(c *cobra.Command) string {
	if !c.HasParent() {
		return "there is"
	}
	return c.Name() + " has"
}

// instead asks whether the nearest of some names was meant, or says what else.
func instead(typed string, names []string, what string) string {
	if near := nearTo(typed, names); len(near) > 0 {
		return "did you mean " + strings.Join(near, " or ") + "?"
	}
	return what
}

// flagError says what is wrong with a flag.
func flagError(c *cobra.Command, err error) error {
	var (
		unknown *pflag.NotExistError
		bare    *pflag.ValueRequiredError
		wrong   *pflag.InvalidValueError
		shape   *pflag.InvalidSyntaxError
	)
	switch {
	case errors.As(err, &unknown) && c.HasAvailableSubCommands() && c.Flags().NArg() > 0:
		return unknownCommand(c, c.Flags().Arg(0)) // whose flag it may be
	case errors.As(err, &unknown):
		return unknownFlag(c, unknown)
	case errors.As(err, &bare):
		return fmt.Errorf("nothing stands behind --%s: write %s (--%s: %s)", bare.GetFlag().Name, valueOf(bare.GetFlag()), bare.GetFlag().Name, bare.GetFlag().Usage)
	case errors.As(err, &wrong):
		return fmt.Errorf("--%s %s: write %s", wrong.GetFlag().Name, quoted(wrong.GetValue()), valueOf(wrong.GetFlag()))
	case errors.As(err, &shape):
		return fmt.Errorf("%s is no flag: %s --help lists those there are", quoted(shape.GetSpecifiedFlag()), c.CommandPath())
	}
	return err
}

// unknownFlag tells the flags there are, or the one that was meant.
func unknownFlag(c *cobra.Command, e *pflag.NotExistError) error {
	typed := e.GetSpecifiedName()
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) {
		if !f.Hidden {
			names = append(names, "--"+f.Name)
		}
	})
	slices.Sort(names)
	list := "write one of " + strings.Join(names, ", ")
	if letters := e.GetSpecifiedShortnames(); letters != "" {
		if letters[0] >= '0' && letters[0] <= '9' {
			return fmt.Errorf("-%s is below nought, and %s takes nothing below nought: write it without the minus", shown(letters), c.Name())
		}
		return fmt.Errorf("%s no flag -%s: %s", subject(c), shown(letters[:1]), list)
	}
	return fmt.Errorf("%s no flag --%s: %s", subject(c), shown(typed), instead("--"+typed, names, list))
}

// valueOf says what to write behind a flag.
func valueOf(f *pflag.Flag) string {
	switch f.Value.Type() {
	case "int", "int64", "uint", "uint64":
		return "a whole number, as in 10"
	case "bool":
		return "it alone, or =true or =false behind it"
	case "duration":
		return "a time, as in 300ms, 10s or 5m"
	}
	return "what is wanted behind it"
}

// groupsError says which flags exclude each other, and of which one is wanted.
func groupsError(c *cobra.Command) error {
	err := c.ValidateFlagGroups()
	if err == nil {
		return nil
	}
	for _, g := range groupsOf(c, exclusive) {
		var given []string
		for _, name := range g {
			if f := c.Flags().Lookup(name); f != nil && f.Changed {
				given = append(given, "--"+name)
			}
		}
		if len(given) > 1 {
			return fmt.Errorf("%s do not go together: write one of them alone", strings.Join(given, " and "))
		}
	}
	for _, g := range groupsOf(c, oneWanted) {
		if !slices.ContainsFunc(g, func(name string) bool { f := c.Flags().Lookup(name); return f != nil && f.Changed }) {
			return fmt.Errorf("one more flag is wanted: write --%s", strings.Join(g, ", or --"))
		}
	}
	return err
}

// The library's names of its groups of flags, as it writes them at a flag.
const (
	exclusive = "cobra_annotation_mutually_exclusive"
	oneWanted = "cobra_annotation_one_required"
)

// groupsOf are a command's groups of flags of a sort.
func groupsOf(c *cobra.Command, sort string) [][]string {
	var seen []string
	var out [][]string
	c.Flags().VisitAll(func(f *pflag.Flag) {
		for _, g := range f.Annotations[sort] {
			if !slices.Contains(seen, g) {
				seen = append(seen, g)
				out = append(out, strings.Fields(g))
			}
		}
	})
	return out
}

// nearTo are the names that a mistyped word is nearest to: at most two changed,
// missing, added or exchanged letters away, or with the word as their beginning.
func nearTo(typed string, names []string) []string {
	const most = 2
	best, out := most+1, []string(nil)
	for _, n := range names {
		d := lettersApart(typed, n)
		if len(strings.TrimLeft(typed, "-")) > most && strings.HasPrefix(n, typed) {
			d = min(d, most)
		}
		if d >= len(strings.TrimLeft(n, "-")) {
			continue // nothing is left of it
		}
		switch {
		case d < best:
			best, out = d, []string{n}
		case d == best && d <= most:
			out = append(out, n)
		}
	}
	return out
}

// lettersApart is by how many letters two words differ: changed, missing, added, or
// exchanged with the next.
func lettersApart(a, b string) int {
	x, y := []rune(strings.ToLower(a)), []rune(strings.ToLower(b))
	rows := make([][]int, len(x)+1)
	for i := range rows {
		rows[i] = make([]int, len(y)+1)
		rows[i][0] = i
	}
	for j := range y {
		rows[0][j+1] = j + 1
	}
	for i := range x {
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			d := min(rows[i][j]+cost, rows[i][j+1]+1, rows[i+1][j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				d = min(d, rows[i-1][j-1]+1)
			}
			rows[i+1][j+1] = d
		}
	}
	return rows[len(x)][len(y)]
}
