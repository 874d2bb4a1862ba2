package main

import (
	"fmt"

	"golang.org/x/perf/benchfmt"
)

func main() { fmt.Println(benchfmt.Unit{}) }
