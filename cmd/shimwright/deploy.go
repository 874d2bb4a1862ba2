package main

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

//go:embed deploy/*.yaml deploy/*.json deploy/*.service deploy/*.rules
var deployFiles embed.FS

// A deployFile is one that the keeper of a bench puts where it belongs.
type deployFile struct{ name, file, is string }

func deployables() []deployFile {
	return []deployFile{
		{"alerts", "alerts.yaml", "Prometheus rules: what to be told of a bench, with thresholds to change"},
		{"recordings", "recordings.yaml", "Prometheus rules: figures worth keeping for long"},
		{"dashboard", "dashboard.json", "a dashboard over these figures, to import"},
		{"service", "shimwright.service", "a systemd unit that runs a bench without a screen as a user of its own"},
		{"udev", "shimwright.rules", "udev rules that give gauges' adapters steady names and a group"},
	}
}

// newDeploy is the command that prints files for who keeps benches.
func newDeploy() *cobra.Command {
	var names, list []string
	for _, d := range deployables() {
		names = append(names, d.name)
		list = append(list, fmt.Sprintf("  %-11s %s", d.name, d.is))
	}
	all := strings.Join(list, "\n")
	return &cobra.Command{
		Use:       "deploy [NAME]",
		Short:     "Print a file for who keeps benches: alerts, a dashboard, a service",
		Long:      "Print one of the files that the program carries for who keeps benches. DEPLOY.md says\nhow each is used; without a name they are listed:\n\n" + all,
		Example:   "  shimwright deploy alerts > /etc/prometheus/shimwright-alerts.yaml",
		Args:      cobra.MatchAll(cobra.MaximumNArgs(1), cobra.OnlyValidArgs),
		ValidArgs: names,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return say(c, "%s", strings.ReplaceAll(all, "\n  ", "\n")[2:])
			}
			text, err := deployFiles.ReadFile("deploy/" + deployables()[slices.Index(names, args[0])].file)
			if err != nil {
				return err
			}
			_, err = c.OutOrStdout().Write(text)
			return machine("standard output", err)
		},
	}
}
