// Judder watches engine speed through a car's diagnostic socket and reports when it swings
// at a steady throttle.
package main

import (
	"os"

	_ "judder/tui/noquery" // first: keeps every command from asking the terminal for its colours

	"judder/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdout, os.Stderr)) }
