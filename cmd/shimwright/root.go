package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// A constructor builds one sub-command. The command's own streams, context and
// root's version are all that it gets from here.
type constructor func() *cobra.Command

// subCommands are the sub-commands, one a line.
func subCommands() []constructor {
	return []constructor{
		newDemo,
		newBench,
		newBoard,
		newSolve,
		newSheet,
		newRecord,
		newVerify,
		newPorts,
		newStudy,
		newPeople,
		newPieces,
		newGauges,
		newStock,
		newTrace,
		newBackup,
		newExport,
		newImport,
		newShop,
		newCompletion,
		newDeploy,
	}
}

// newRoot builds the program's root command from its sub-commands.
func newRoot(version string, subs ...constructor) *cobra.Command {
	root := &cobra.Command{
		Use:   "shimwright",
		Short: "Take readings from gauges, work out shim packs, prove the build",
		Long: `Shimwright takes each reading from the gauge itself, knows which step of the
overhaul it belongs to, works out the shim packs exactly and says what to change
when a check fails. Limits are the drive maker's: they come from the setting
sheet, with the manual they were taken from.

Exit status: 0 done; 1 a verdict is not good (too close to call included) or a
check failed; 2 the input or the command line is wrong; 3 the machine failed us
(disk, port, network).`,
		Version:       version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetVersionTemplate("shimwright {{.Version}}\n" + built())
	for _, sub := range subs {
		root.AddCommand(sub())
	}
	root.CompletionOptions.DisableDefaultCmd = true // newCompletion has words of our own
	root.SetHelpCommand(newHelp())
	completes(root)
	inOurWords(root)
	return root
}

// version is what the Go tool stamped into the program: its version, and the
// commit where it was built from a working copy.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	out := info.Main.Version
	if out == "" {
		out = "unknown"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && out == "(devel)" {
			out += " " + s.Value
		}
	}
	return out
}

// built is from which commit and with which Go the program was built, a line each.
func built() string {
	revision := "not recorded: it was not built from a working copy"
	if info, ok := debug.ReadBuildInfo(); ok {
		changed := ""
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				revision = s.Value
			case s.Key == "vcs.modified" && s.Value == "true":
				changed = ", with changes that are in no commit"
			}
		}
		revision += changed
	}
	return fmt.Sprintf("revision %s\nbuilt with %s for %s/%s\n", revision, runtime.Version(), runtime.GOOS, runtime.GOARCH)
}
