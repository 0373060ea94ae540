package tui

import (
	"context"
	"errors"
	"io"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/vt"

	"github.com/judder-obd/judder/session"
)

// emulator is a terminal that keeps its picture and counts what goes past it.
type emulator struct {
	*vt.SafeEmulator
	mu    sync.Mutex
	bells int
	raw   strings.Builder
}

func newEmulator(w, h int) *emulator { return &emulator{SafeEmulator: vt.NewSafeEmulator(w, h)} }

func (e *emulator) Write(p []byte) (int, error) {
	e.mu.Lock()
	if string(p) == "\a" {
		e.bells++
	}
	e.raw.Write(p)
	e.mu.Unlock()
	return e.SafeEmulator.Write(p)
}

func (e *emulator) picture() string { return ansi.Strip(e.Render()) }

func (e *emulator) sent() (bells int, raw string) {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.bells, e.raw.String()
}

// runFor runs the screen until d has passed.
func runFor(t *testing.T, d time.Duration, f *fakeDrive, o Options) error {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), d)
	defer cancel()
	return run(ctx, f.shown(), o)
}

// The whole program for ten seconds of a drive that passes through the burst: the picture at
// the end is that of the drive then, and the bell has rung once.
func TestTenSecondsOfADrive(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := &fakeDrive{now: burstStart - 4*time.Second, start: time.Now()}
		frames := 0
		f.change = func(s *session.Snapshot) {
			frames++
			s.Detector.Alarmed = s.Now > burstStart && s.Now < burstEnd
		}
		e := newEmulator(80, 24)
		if err := runFor(t, 10*time.Second, f, Options{Output: e, Bell: true, FPS: 20}); err != nil {
			t.Fatal(err)
		}
		if frames < 195 || frames > 205 {
			t.Errorf("%d snapshots in 10 s at 20 frames/s", frames)
		}
		if f.ends != 1 {
			t.Errorf("the session was ended %d times", f.ends)
		}
		bells, raw := e.sent()
		if bells != 1 {
			t.Errorf("the bell rang %d times for one event", bells)
		}
		for _, must := range []string{"\x1b[?1049h", "\x1b[?1049l", "\x1b[?25l", "\x1b[?25h"} {
			if !strings.Contains(raw, must) {
				t.Errorf("the terminal was not sent %q", must)
			}
		}
		if strings.Contains(raw, "]11;?") || strings.Contains(raw, "[6n") {
			t.Error("the terminal was asked a question")
		}
	})
}

func TestPictureOnATerminal(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := &fakeDrive{now: burstStart - 4*time.Second, start: time.Now()}
		e := newEmulator(80, 24)
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error)
		go func() { done <- run(ctx, f.shown(), Options{Output: e, FPS: 20}) }()
		time.Sleep(7500 * time.Millisecond)
		synctest.Wait()
		got := e.picture()
		for _, must := range []string{"0:11:05", "Q U I E T", "146 rpm, 1.9 Hz", "felt 0.6 s later", "q end"} {
			if !strings.Contains(got, must) {
				t.Errorf("no %q on the screen:\n%s", must, got)
			}
		}
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
}

// Resized while it runs, down to too small and up again.
func TestResize(t *testing.T) {
	m := still(t, 80, 24, &fakeDrive{now: at(11, 12)})
	for _, size := range [][2]int{{120, 40}, {60, 18}, {59, 18}, {60, 17}, {1, 1}, {0, 0}, {300, 90}, {61, 19}, {109, 23}, {110, 22}, {80, 24}} {
		for _, p := range []page{pageDrive, pageStart, pageGlance, pageSignals, pageHelp} {
			m.Update(tea.WindowSizeMsg{Width: size[0], Height: size[1]})
			m.page = p
			if size[0] > 0 && size[1] > 0 {
				checkShape(t, m.View(), size[0], size[1])
			} else {
				_ = m.View()
			}
		}
	}
}

func TestKeysReachTheSession(t *testing.T) {
	f := &fakeDrive{now: at(11, 0)}
	in, keys := io.Pipe()
	done := make(chan error)
	go func() {
		done <- run(t.Context(), f.shown(), Options{Output: io.Discard, Input: in})
	}()
	for _, k := range []string{" ", " ", "q", "q", "q"} {
		if _, err := io.WriteString(keys, k); err != nil {
			t.Fatal(err)
		}
	}
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if f.felt != 2 || f.ends != 1 {
		t.Errorf("%d felt marks, %d ends; want 2 and 1", f.felt, f.ends)
	}
}

// However a drive ends while a note is typed, what was typed is kept.
func TestUnfinishedNote(t *testing.T) {
	for name, keys := range map[string]string{"control-C": "nup hill\x03", "a signal": "nup hill"} {
		synctest.Test(t, func(t *testing.T) {
			f := &fakeDrive{now: burstStart, start: time.Now()}
			before := 0 // notes while the session still ran
			pump := func(ctx context.Context) error {
				<-ctx.Done()
				before = len(f.notes)
				return nil
			}
			if err := runFor(t, 2*time.Second, f, Options{Output: newEmulator(80, 24), Input: strings.NewReader(keys), Beside: pump}); err != nil {
				t.Fatal(err)
			}
			if before != 1 {
				t.Errorf("%s: the session ended before it had the note", name)
			}
			if len(f.notes) != 1 || f.notes[0] != "up hill" || f.ends != 1 {
				t.Errorf("%s: notes %q, ended %d times", name, f.notes, f.ends)
			}
		})
	}
}

// A panic beside the screen gives the terminal back before anything is said about it.
func TestPanicBesideTheScreen(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := &fakeDrive{now: at(11, 0)}
		e := newEmulator(80, 24)
		err := run(t.Context(), f.shown(), Options{Output: e, Beside: func(context.Context) error {
			time.Sleep(time.Second)
			panic("pump broke")
		}})
		if err == nil || !strings.Contains(err.Error(), "pump broke") || !strings.Contains(err.Error(), "run_test.go") {
			t.Errorf("error %v does not say what broke and where", err)
		}
		if _, raw := e.sent(); !strings.Contains(raw, "\x1b[?1049l") {
			t.Error("the terminal was not given back")
		}
		if f.ends != 1 {
			t.Errorf("the session was ended %d times", f.ends)
		}
	})
}

func TestErrorBesideTheScreen(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		broken := errors.New("disk full")
		err := runFor(t, time.Second, &fakeDrive{now: at(11, 0)}, Options{Output: io.Discard, Beside: func(ctx context.Context) error {
			<-ctx.Done()
			return broken
		}})
		if !errors.Is(err, broken) {
			t.Errorf("error %v, want %v", err, broken)
		}
	})
}

// The glance changes at most twice a second, however fast the drive does.
func TestGlanceIsCalm(t *testing.T) {
	alarmed := false
	f := &fakeDrive{now: at(11, 0), change: func(s *session.Snapshot) { s.Detector.Alarmed = alarmed }}
	m := still(t, 80, 24, f)
	press(m, "g")
	now, changes, last := time.Unix(0, 0), 0, m.View()
	for range 100 { // 5 s at 20 frames/s
		alarmed = !alarmed
		now = now.Add(50 * time.Millisecond)
		m.pull(now)
		if v := m.View(); v != last {
			changes, last = changes+1, v
		}
	}
	if changes > 10 {
		t.Errorf("%d changes in 5 s", changes)
	}
}

func BenchmarkFrame(b *testing.B) {
	for _, replay := range []bool{false, true} {
		name := "live"
		if replay {
			name = "replay"
		}
		b.Run(name, func(b *testing.B) {
			m := newModel((&fakeDrive{replay: replay}).shown(), Options{}, coloured())
			f := &fakeDrive{now: at(11, 12), replay: replay}
			m.Update(tea.WindowSizeMsg{Width: 120, Height: 40})
			f.Snapshot(&m.snap)
			m.page = pageDrive
			m.pictures.follow(&m.view, false)
			b.ReportAllocs()
			for b.Loop() {
				m.pictures.follow(&m.view, false)
				_ = m.View()
			}
		})
	}
}

// Whatever comes from a car, a file or a user, on every page: nothing that a terminal would
// obey, nothing wider than the window.
func TestHostileTextOnEveryPage(t *testing.T) {
	for _, replay := range []bool{false, true} {
		for _, phase := range []session.Phase{session.Connecting, session.Running, session.LinkLost, session.Finished} {
			m := still(t, 80, 24, &fakeDrive{now: at(11, 12), replay: replay, change: func(s *session.Snapshot) {
				hostile(s)
				s.Phase = phase
			}})
			for _, p := range []page{pageStart, pageDrive, pageGlance, pageSignals, pageHelp} {
				for _, size := range [][2]int{{60, 18}, {80, 24}, {120, 40}} {
					m.Update(tea.WindowSizeMsg{Width: size[0], Height: size[1]})
					m.page = p
					checkShape(t, m.View(), size[0], size[1])
				}
			}
		}
	}
}

// Every page fits every window, in every state of the drive.
func TestEveryPageAtEverySize(t *testing.T) {
	for _, size := range [][2]int{{minWidth, minHeight}, {41, 24}, {50, 20}, {60, 18}, {71, 30}, {72, 22}, {80, 22}, {109, 25}, {110, 22}} {
		for _, replay := range []bool{false, true} {
			for _, change := range []func(*session.Snapshot){nil, alarm, lost, hostile, longFinding, frozen} {
				m := still(t, size[0], size[1], &fakeDrive{now: at(11, 12.5), replay: replay, change: change})
				for m.page = pageStart; m.page <= pageEnd; m.page++ {
					checkShape(t, m.View(), size[0], size[1])
				}
			}
		}
	}
}
