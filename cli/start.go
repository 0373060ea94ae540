package cli

import (
	"cmp"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui"
)

// onTerminal reports whether a person is there: both the screen and the keys are a terminal.
func (e *env) onTerminal() bool {
	keys, ok := e.in.(io.Writer) // a file is one, a pipe that a test hands in is none
	return ok && tui.TextWidth(keys, 0) > 0 && e.screenless() == ""
}

// startPage shows what can be done, and does it. It comes back after a replay and after what went
// wrong; the result of a drive is left in the shell.
func startPage(e *env) int {
	known := e.settings()
	start := tui.Start{Port: known.Port, Bell: known.Bell == nil || *known.Bell}
	options := tui.Options{Output: e.raw, ASCII: e.ascii}
	for {
		start.Ports, start.Recordings = e.startPorts(start.Port), recentRecordings(cmp.Or(known.Folder, "."))
		choice, err := tui.RunStart(e.ctx, start, options)
		if err != nil {
			e.say("%s", err)
			return exitFailed
		}
		if choice.Action == tui.StartNothing || e.ctx.Err() != nil {
			return exitOK
		}
		e.started = time.Now()
		code, err := execute(e, startArgs(&choice))
		if err == nil && choice.Action != tui.StartReplay || e.ctx.Err() != nil {
			if err != nil {
				e.say("%s", err)
			}
			return code
		}
		if choice.Action == tui.StartDrive {
			start.Port = choice.Path
		}
		start.Trouble = ""
		if err != nil {
			start.Trouble = err.Error()
		}
		start.Complaint, start.Bell, options.Sunlight = choice.Complaint, choice.Bell, choice.Sunlight
	}
}

// startArgs are the command line of a choice.
func startArgs(c *tui.Choice) []string {
	var args []string
	switch c.Action {
	case tui.StartDrive:
		args = []string{"drive", "--port=" + c.Path}
	case tui.StartDemo:
		args = []string{"demo"}
	case tui.StartReplay:
		args = []string{"replay"}
	}
	if !c.Complaint.IsZero() {
		args = append(args, "--complaint="+c.Complaint.String())
	}
	if c.Bell {
		args = append(args, "--bell")
	} else {
		args = append(args, "--no-bell")
	}
	if c.Sunlight {
		args = append(args, "--sunlight")
	}
	if c.Action == tui.StartReplay {
		args = append(args, "--", c.Path)
	}
	return args
}

// startPorts are the ports to choose from, and an address used last, which no list of ports has.
func (e *env) startPorts(last string) (list []tui.StartPort) {
	ports, err := e.ports()
	if err != nil {
		ports = nil // the page says how to go on
	}
	for _, p := range ports {
		list = append(list, tui.StartPort{Path: p.Path, Name: p.Description})
	}
	if link.OnNetwork(last) {
		list = append(list, tui.StartPort{Path: last, Name: "the address used last"})
	}
	return list
}

// mostRecordings is how many recordings the start page offers.
const mostRecordings = 8

// recentRecordings are the latest recordings of drives in a folder, by the time that they were written last.
func recentRecordings(dir string) (list []tui.StartRecording) {
	files, err := os.ReadDir(dir)
	if err != nil {
		return nil
	}
	for _, f := range files {
		info, err := f.Info()
		if err != nil || !info.Mode().IsRegular() || filepath.Ext(f.Name()) != recordingEnding {
			continue
		}
		list = append(list, tui.StartRecording{Path: filepath.Join(dir, f.Name()), When: info.ModTime(), Note: sizeWords(info.Size())})
	}
	slices.SortStableFunc(list, func(a, b tui.StartRecording) int {
		if c := b.When.Compare(a.When); c != 0 {
			return c
		}
		return strings.Compare(a.Path, b.Path)
	})
	drives := list[:0]
	for _, r := range list { // only as many are opened as it takes
		if len(drives) == mostRecordings {
			break
		}
		if session.IsDrive(r.Path) {
			drives = append(drives, r)
		}
	}
	return drives
}

func sizeWords(bytes int64) string {
	if bytes < 1_000_000 {
		return fmt.Sprintf("%d kB", (bytes+999)/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(bytes)/1e6)
}
