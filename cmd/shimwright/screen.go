package main

import (
	"context"
	"errors"
)

// The screen is not part of the program yet.

func runScreen(context.Context, string) error {
	return errors.New("the fitter's screen is not part of the program yet: run it with --headless")
}

func screenDemo(context.Context, *stage, demoChoice) error {
	return errors.New("the fitter's screen is not part of the program yet: run it with --plain")
}
