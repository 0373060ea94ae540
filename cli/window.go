package cli

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/table"
	"github.com/judder-obd/judder/tui"
	"github.com/judder-obd/judder/tui/wave"
)

// windowsOf writes windows of a recording to files beside it: the readings as CSV, the wave as SVG.
// Nothing is overwritten.
func windowsOf(path string) tui.Exporter {
	return func(from, to time.Duration) (string, error) {
		sheet, _, err := sheetOf(path, 0)
		if err != nil {
			return "", err
		}
		picture, err := pictureOf(path, sheet.Samples, from, to)
		if err != nil {
			return "", err
		}
		sheet.Samples = slices.DeleteFunc(sheet.Samples, func(s pids.Sample) bool { return s.At < from || s.At > to })
		sheet.Marks = slices.DeleteFunc(sheet.Marks, func(m table.Mark) bool { return m.At < from || m.At > to })
		name := freeWindow(path, from)
		var files halves
		csv := exportCommand{}
		if err := files.writeNew(name+".csv", csv.writes(sheet)); err != nil {
			return "", err
		}
		if err := files.writeNew(name+".svg", given(picture)); err != nil {
			return "", err
		}
		return filepath.Base(name) + ".csv and .svg", nil
	}
}

// freeWindow is a name, without its ending, that no window has yet: that of the recording and the time
// at which the window begins.
func freeWindow(path string, from time.Duration) string {
	first := strings.TrimSuffix(path, filepath.Ext(path)) + "-" + strings.ReplaceAll(prose.Clock(from), ":", "-")
	for n := 1; ; n++ {
		name := first
		if n > 1 {
			name = fmt.Sprintf("%s-%d", first, n)
		}
		_, csv := os.Lstat(name + ".csv")
		_, svg := os.Lstat(name + ".svg")
		if csv != nil && svg != nil {
			return name
		}
	}
}

// pictureOf draws the wave between two times; the shudder there, if any, gives the alarm level.
func pictureOf(path string, samples []pids.Sample, from, to time.Duration) ([]byte, error) {
	r, err := session.Review(path)
	if err != nil {
		return nil, err
	}
	course := session.CourseOf(samples)
	c := pictureCommand{File: path}
	cut, title := wave.Cut{}, "engine speed at "+prose.Clock(from)
	for i := range r.Events {
		if e := &r.Events[i]; e.End > from && e.Start < to {
			cut, title = cutOfEvent(e, i+1)
		}
	}
	cut.From, cut.To = from, to
	var picture bytes.Buffer
	if err := c.drawCut(&picture, &course, cut, title); err != nil {
		return nil, err
	}
	return picture.Bytes(), nil
}
