// Judder watches engine speed through a car's diagnostic socket and reports when it swings
// at a steady throttle.
package main

import (
	"os"

	_ "github.com/judder-obd/judder/tui/noquery" // first: keeps every command from asking the terminal for its colours

	"github.com/judder-obd/judder/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdout, os.Stderr)) }
