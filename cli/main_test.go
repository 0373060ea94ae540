package cli

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
)

// asJudder makes the test binary behave as the program, for a child that is killed.
const asJudder = "JUDDER_TEST_ARGS"

// TestMain keeps what this computer's user has remembered out of the tests, and theirs out of it.
func TestMain(m *testing.M) {
	if args := os.Getenv(asJudder); args != "" {
		os.Exit(Main(strings.Split(args, "\n"), os.Stdout, os.Stderr))
	}
	if address := os.Getenv(asSpeaker); address != "" {
		os.Exit(speak(address, os.Args[1:]))
	}
	_, stop := untilSignal() // the first of a process starts a goroutine that must not be one of a bubble
	stop()
	flag.Parse()
	_ = flag.Set("test.parallel", "8") // what is parallel here mostly waits for other processes
	os.Exit(withoutSettings(m))
}

func withoutSettings(m *testing.M) int {
	dir, err := os.MkdirTemp("", "judder-test-*")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer func() { _ = os.RemoveAll(dir) }()
	for _, name := range []string{"XDG_CONFIG_HOME", "HOME", "AppData"} { // as os.UserConfigDir looks for them
		if err := os.Setenv(name, dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
	}
	if err := os.Unsetenv("JUDDER_PORT"); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return m.Run()
}
