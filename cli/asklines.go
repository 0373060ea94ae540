package cli

import (
	"bufio"
	"fmt"
	"os"
	"strings"

	"github.com/judder-obd/judder/obd/elm"
)

// typing reports whether somebody sits at standard input.
func (e *env) typing() bool {
	f, ok := e.in.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// lines asks several questions of standard input, one after the other.
func (e *env) lines() *lineAsker {
	a := &lineAsker{e: e, lines: make(chan string)}
	go func() {
		defer close(a.lines)
		for s := bufio.NewScanner(e.in); s.Scan(); {
			select {
			case a.lines <- strings.TrimSpace(s.Text()):
			case <-e.ctx.Done():
				return
			}
		}
	}()
	return a
}

// lineAsker reads answers, a line each.
type lineAsker struct {
	e     *env
	lines chan string
}

// ask prints a question and reads its answer; ok is false at the end of the input.
func (a *lineAsker) ask(question string) (line string, ok bool, err error) {
	_, _ = fmt.Fprint(a.e.err, question)
	select {
	case line, ok = <-a.lines:
		if !ok {
			_, _ = fmt.Fprintln(a.e.err) // nobody pressed Enter
		}
		return line, ok, nil
	case <-a.e.ctx.Done():
		_, _ = fmt.Fprintln(a.e.err)
		return "", false, elm.ErrOver
	}
}
