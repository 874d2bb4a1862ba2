// Command shimwright logs gauges on the bench while a right-angle drive is
// overhauled, works out its shim packs and proves the build.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"
)

func main() { os.Exit(run()) }

// run is main with its exit status.
func run() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	root := newRoot(version(), subCommands()...)
	root.SetIn(os.Stdin)
	root.SetOut(os.Stdout)
	root.SetErr(os.Stderr)
	err := root.ExecuteContext(ctx)
	if said := complaint(err); said != "" {
		fmt.Fprintln(os.Stderr, said)
	}
	return int(statusOf(err))
}
