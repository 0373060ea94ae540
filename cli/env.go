package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/tui"
)

// env is what every command gets.
type env struct {
	ctx     context.Context
	started time.Time // of the command
	out     io.Writer // cleaned: no control characters from a car or a file
	err     io.Writer // cleaned
	raw     io.Writer // standard output for a screen, which cleans what it draws
	rawErr  io.Writer // standard error, to ask how wide it is
	ascii   bool      // the terminal shows nothing but ASCII
	in      io.Reader // where a typed word comes from
	said    sync.Map  // texts of sayOnce
	halves  halves    // files that are not whole yet

	computer
}

// say writes a line of progress for people; on a terminal it is broken between words.
func (e *env) say(format string, args ...any) {
	const name = "judder: "
	text := name + fmt.Sprintf(format, args...)
	if width := tui.TextWidth(e.rawErr, 0); width > 0 {
		first, more, _ := strings.Cut(text[len(name):], "\n")
		lines := prose.WrapText(first, width-len(name))
		text = name + strings.Join(lines, "\n"+strings.Repeat(" ", len(name)))
		if more != "" {
			text += "\n" + strings.Join(prose.Wrap(strings.Split(more, "\n"), width), "\n")
		}
	}
	_, _ = fmt.Fprintln(e.err, text)
}

// sayOnce says what is wrong, once in a command.
func (e *env) sayOnce(err error) {
	if _, again := e.said.LoadOrStore(err.Error(), true); !again {
		e.say("%v", err)
	}
}

// dated is a file name with the date and time of the command in it that no file has yet.
func (e *env) dated(before, after string) string {
	name := before + e.started.Format("2006-01-02-150405")
	for n := 1; ; n++ {
		path := name + after
		if n > 1 {
			path = fmt.Sprintf("%s-%d%s", name, n, after)
		}
		if _, err := os.Lstat(path); err != nil {
			return path
		}
	}
}
