package cli

import (
	"cmp"
	"io"
	"os"
	"runtime"
	"strings"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/tui"
)

// screenless says why standard output can show no screen; "" when it can.
func (e *env) screenless() string {
	term := os.Getenv("TERM")
	switch {
	case tui.TextWidth(e.raw, 0) == 0:
		return "standard output is no terminal"
	case runtime.GOOS == "windows": // a console there has no TERM
		return ""
	case term == "":
		return "TERM is not set"
	case term == "dumb":
		return "TERM is dumb"
	}
	return ""
}

// asciiOnly reports whether the locale shows no characters but ASCII for certain: a language is
// set, and its character set is not UTF-8 (POSIX.1-2017, Base Definitions, 8.2: LC_ALL before
// LC_CTYPE before LANG). With none set, terminals of today show UTF-8 (common practice, no source).
func asciiOnly(getenv func(string) string) bool {
	locale := strings.ToUpper(cmp.Or(getenv("LC_ALL"), getenv("LC_CTYPE"), getenv("LANG")))
	return locale != "" && !strings.Contains(strings.ReplaceAll(locale, "-", ""), "UTF8")
}

// people returns a writer of text for people to w: without characters that steer a terminal, and in
// ASCII where w is a terminal that shows nothing else. What goes to a file keeps its characters.
func people(w io.Writer, ascii bool) io.Writer {
	if ascii && tui.TextWidth(w, 0) > 0 {
		w = asciiWriter{w}
	}
	return prose.NewWriter(w)
}

type asciiWriter struct{ w io.Writer }

func (a asciiWriter) Write(p []byte) (int, error) {
	if _, err := a.w.Write(prose.AppendASCII(nil, p)); err != nil {
		return 0, err
	}
	return len(p), nil
}
