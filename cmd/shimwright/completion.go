package main

import (
	"context"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/ingest/exchange"
	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// newCompletion is the command that has a shell complete what is typed.
func newCompletion() *cobra.Command {
	shells := []string{"bash", "zsh", "fish", "powershell"}
	return &cobra.Command{
		Use:   "completion SHELL",
		Short: "Print what has a shell complete commands, flags, jobs, gauges and sheets",
		Long: `Print a script for bash, zsh, fish or powershell. Once the shell has read it, the Tab
key completes what is typed behind shimwright: commands and flags, sheets that come
with the program, and the gauges and newest jobs of the bench whose file is bench.yaml
or stands behind --bench.`,
		Example: `  source <(shimwright completion bash)
  shimwright completion fish > ~/.config/fish/completions/shimwright.fish`,
		Args:      cobra.MatchAll(cobra.ExactArgs(1), cobra.OnlyValidArgs),
		ValidArgs: shells,
		RunE: func(c *cobra.Command, args []string) error {
			root, out := c.Root(), c.OutOrStdout()
			var err error
			switch args[0] {
			case "bash":
				err = root.GenBashCompletionV2(out, true)
			case "zsh":
				err = root.GenZshCompletion(out)
			case "fish":
				err = root.GenFishCompletion(out, true)
			default:
				err = root.GenPowerShellCompletionWithDesc(out)
			}
			return machine("standard output", err)
		},
	}
}

// newHelp is the command that shows another one's help.
func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Show what a command does and what it takes",
		Long:  "Show what a command does and what it takes, as --help behind the command does.",
		ValidArgsFunction: func(c *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			at, rest, err := c.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			var names []string
			for _, sub := range at.Commands() {
				if sub.IsAvailableCommand() {
					names = append(names, sub.Name()+"\t"+sub.Short)
				}
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(c *cobra.Command, args []string) error {
			at := c.Root()
			for _, name := range args {
				next, _, err := at.Find([]string{name})
				if err != nil || next == at {
					return unknownCommand(at, name)
				}
				at = next
			}
			at.InitDefaultHelpFlag()
			return at.Help()
		},
	}
}

// A completer gives what may stand at a place of the command line.
type completer func(c *cobra.Command) []string

// completes has commands complete their arguments and flags. What cannot be read
// at once completes nothing.
func completes(root *cobra.Command) {
	behind := map[string][]completer{ // one for each argument
		"shimwright solve": {theSheets}, "shimwright record": {theJobs}, "shimwright trace": {gaugesAndPieces}, "shimwright export": {exportKinds},
		"shimwright ports teach": {theGauges}, "shimwright sheet check": {theSheets}, "shimwright sheet approve": {theSheets},
		"shimwright gauges certify": {theGauges}, "shimwright gauges withdraw": {theGauges},
		"shimwright pieces certify": {thePieces}, "shimwright pieces withdraw": {thePieces},
	}
	flags := map[string]completer{"job": theJobs, "sheet": theSheets}
	allUnder(root, func(c *cobra.Command) {
		if all := behind[c.CommandPath()]; all != nil && c.ValidArgsFunction == nil {
			c.ValidArgsFunction = func(c *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
				if len(args) >= len(all) {
					return nil, cobra.ShellCompDirectiveDefault
				}
				return all[len(args)](c), cobra.ShellCompDirectiveDefault
			}
		}
		for name, give := range flags {
			if c.LocalFlags().Lookup(name) == nil {
				continue
			}
			// It fails only where a command has a completion of its own, which stands.
			_ = c.RegisterFlagCompletionFunc(name, func(c *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
				return give(c), cobra.ShellCompDirectiveNoFileComp
			})
		}
	})
}

func allUnder(c *cobra.Command, do func(*cobra.Command)) {
	do(c)
	for _, sub := range c.Commands() {
		allUnder(sub, do)
	}
}

func theSheets(*cobra.Command) []string { return sheetNames() }

func exportKinds(*cobra.Command) []string {
	out := []string{allKinds, resultsKind}
	for _, k := range exchange.Kinds() {
		out = append(out, string(k))
	}
	return out
}

// benchNamed is the bench file behind --bench, or the one that is usual.
func benchNamed(c *cobra.Command) string {
	if f := c.Flag("bench"); f != nil && f.Value.String() != "" {
		return f.Value.String()
	}
	return "bench.yaml"
}

// theGauges are the names of the bench's, with what each is.
func theGauges(c *cobra.Command) []string {
	f, err := readBenchFile(benchNamed(c))
	if err != nil {
		return nil
	}
	var out []string
	for _, g := range f.Gauges {
		out = append(out, g.ID+"\t"+g.Kind)
	}
	return out
}

// thePieces are the certified pieces of the bench file, with their sizes.
func thePieces(c *cobra.Command) []string {
	f, err := readBenchFile(benchNamed(c))
	if err != nil {
		return nil
	}
	var out []string
	for _, p := range f.Pieces {
		out = append(out, p.ID+"\t"+p.Size.String())
	}
	return out
}

func gaugesAndPieces(c *cobra.Command) []string { return append(theGauges(c), thePieces(c)...) }

// theJobs are the newest of the bench's journal, with the serial number of each.
func theJobs(c *cobra.Command) []string {
	const newest, patience = 50, time.Second
	path := ""
	if f := c.Flag("journal"); f != nil {
		path = f.Value.String()
	}
	if path == "" {
		f, err := readBenchFile(benchNamed(c))
		if err != nil {
			return nil
		}
		path = f.Journal
	}
	r, err := journal.OpenReader(path)
	if err != nil {
		return nil
	}
	defer func() { _ = r.Close() }() // what closing after a read could say is not worth hearing
	ctx, stop := context.WithTimeout(context.Background(), patience)
	defer stop()
	found, err := r.Jobs(ctx, store.JobQuery{Limit: newest})
	if err != nil {
		return nil
	}
	var out []string
	for _, j := range found {
		out = append(out, j.ID+"\t"+strings.TrimSpace(j.Drive+" "+j.Serial))
	}
	return out
}
