package adapter_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/obdtest"
)

// onConn gives the test a connection that has been set up to a car of one ECU, under simulated
// time, and a function that gives the settings of the wait sent since it was last asked.
func onConn(t *testing.T, test func(t *testing.T, c *adapter.Conn, sent func() string)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		var waits []string
		b := &obdtest.BadAdapter{}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			return []string{b.Engine("7E8", request)}, true
		}
		b.Strike = func(command string) []string {
			if strings.HasPrefix(command, "ATST") || strings.HasPrefix(command, "ATAT") {
				waits = append(waits, command)
			}
			return nil
		}
		start := time.Now()
		var served sync.WaitGroup
		c := adapter.New(adapter.Config{Open: b.Open(&served), Bauds: []int{0}, Name: "test", Since: func() time.Duration { return time.Since(start) }})
		c.Use(t.Context(), &obdtest.Journal{})
		if err := c.Reach(); err != nil {
			t.Fatal(err)
		}
		if err := c.SetUp(); err != nil {
			t.Fatal(err)
		}
		test(t, c, func() string {
			sent := strings.Join(waits, " ")
			waits = nil
			return sent
		})
		c.Close()
		served.Wait()
	})
}

// The wait has three states, and what is set already is not sent again. AT ST counts in 4 ms: FF is
// 1.02 s, 64 (hexadecimal) 400 ms, 00 the adapter's own (ELM327 data sheet p. 27).
func TestWait_States(t *testing.T) {
	onConn(t, func(t *testing.T, c *adapter.Conn, sent func() string) {
		sent()
		w := c.Wait()
		for _, step := range []struct {
			name string
			do   func() error
			want string
		}{
			{"its own already", w.Back, ""},
			{"longest", w.Longest, "ATAT0 ATSTFF"},
			{"longest again", w.Longest, ""},
			{"back", w.Back, "ATAT1 ATST00"},
			{"further ECUs, all", func() error { return w.ForFurther(false) }, "ATST64"},
			{"further ECUs, one", func() error { return w.ForFurther(true) }, "ATAT0"},
			{"longest for that one", w.Longest, "ATSTFF"},
			{"back to that one", w.Back, "ATST64"},
			{"all again", func() error { return w.ForFurther(false) }, "ATAT1"},
			{"nothing was learnt to doubt but that", func() error { _, err := w.Doubted(); return err }, "ATST00"},
			{"nothing at all", func() error { _, err := w.Doubted(); return err }, ""},
		} {
			if err := step.do(); err != nil {
				t.Fatal(err)
			}
			if got := sent(); got != step.want {
				t.Errorf("%s: sent %q, want %q", step.name, got, step.want)
			}
		}
	})
}

// A drive leaves the longest wait after three good replies in a row, and no sooner.
func TestWait_Calm(t *testing.T) {
	onConn(t, func(t *testing.T, c *adapter.Conn, sent func() string) {
		w := c.Wait()
		for range 2 {
			if err := w.Longest(); err != nil {
				t.Fatal(err)
			}
			sent()
			for n, want := range []string{"", "", "ATAT1 ATST00", ""} {
				if err := w.Calm(); err != nil {
					t.Fatal(err)
				}
				if got := sent(); got != want || w.IsLongest() != (n < 2) {
					t.Errorf("after %d good replies: sent %q, want %q; longest %v", n+1, got, want, w.IsLongest())
				}
			}
		}
	})
}

// Wait alone sends AT ST and AT AT.
func TestWait_AloneSendsIts(t *testing.T) {
	seen := 0
	for _, room := range []string{".", "../drive", "../inquiry", "../schedule"} {
		files, err := filepath.Glob(filepath.Join(room, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			file, err := parser.ParseFile(token.NewFileSet(), name, text, 0)
			if err != nil {
				t.Fatal(err)
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && (strings.HasPrefix(lit.Value, `"ATST`) || strings.HasPrefix(lit.Value, `"ATAT`)) {
					if seen++; name != "wait.go" {
						t.Errorf("%s writes %s", name, lit.Value)
					}
				}
				return true
			})
		}
	}
	if seen < 3 {
		t.Errorf("%d settings of the wait seen: the test looks in the wrong place", seen)
	}
}
