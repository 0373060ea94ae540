//go:build linux || darwin

package cli

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/simcar"
)

// A drive over a real pseudo-terminal and a real TCP port, in real time, until it is interrupted: it
// prints on standard output what it found and nothing else, and its export holds every
// reading that the car gave, once, at its time, and none else.
func TestDrive_PseudoTerminalAndTCP(t *testing.T) {
	t.Parallel()
	for _, kind := range []string{"pty", "tcp"} {
		t.Run(kind, func(t *testing.T) {
			t.Parallel()
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			sim := simcar.New(simcar.CarFunc(swinging), append(simcar.Realistic(), simcar.WithFaults(
				simcar.Fault{Kind: simcar.LostReply, Chance: 0.02}, simcar.Fault{Kind: simcar.DamagedReply, Chance: 0.02}))...)
			port := ""
			if kind == "pty" {
				path, _, err := sim.OpenPTY(ctx)
				if err != nil {
					t.Fatal(err)
				}
				port = path
			} else {
				addr, _, err := sim.ListenTCP(ctx, "127.0.0.1:0")
				if err != nil {
					t.Fatal(err)
				}
				port = "tcp://" + addr.String()
			}
			out := filepath.Join(t.TempDir(), "drive.jsonl")
			stdout := driveFor(t, port, out, 100)
			var live report
			if err := json.Unmarshal([]byte(stdout), &live); err != nil {
				t.Fatalf("%v in %q", err, stdout)
			}
			found := func(r *report) string {
				text, err := json.Marshal([]any{r.Shudder, r.EngineStops, r.Verdict})
				if err != nil {
					t.Fatal(err)
				}
				return string(text)
			}
			if review := reviewJSON(t, out); found(&review) != found(&live) {
				t.Errorf("review %s, live %s", found(&review), found(&live))
			}
			_, stdout, _ = judder(t, "export", out, "--csv")
			compareExport(t, stdout, sim)
		})
	}
}

// driveFor drives in a process of its own until engine speed was recorded so many times, and returns
// what it printed. A computer that is busy with something else only takes longer.
func driveFor(t *testing.T, port, out string, n int) (stdout string) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	var printed, said bytes.Buffer
	child := exec.CommandContext(t.Context(), self)
	child.Env = append(os.Environ(), asJudder+"="+strings.Join([]string{"drive", "--port", port, "--headless", "--json", "--out", out}, "\n"))
	child.Stdout, child.Stderr = &printed, &said
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	if err := readings(out, n); err != nil {
		t.Fatalf("%v: %s", err, said.String())
	}
	if err := child.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := child.Wait(); err != nil {
		t.Fatalf("%v: %s", err, said.String())
	}
	return printed.String()
}

// compareExport holds the exported rows against what the simulated car gave. The two clocks
// start apart, by as much as the first reading shows; both then run alike.
func compareExport(t *testing.T, exported string, sim *simcar.Sim) {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(exported)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var given []simcar.Reading
	for _, g := range sim.Given() {
		if len(pids.Lookup(g.PID).Fields) == 1 || g.PID == 0x06 {
			given = append(given, g)
		}
	}
	rows = rows[1:]
	const late = 1.0                                                           // s: goroutines on a busy machine
	if len(given) < 20 || len(rows) > len(given) || len(rows) < len(given)-4 { // the last exchange may be cut off by the end
		t.Fatalf("%d readings exported, %d given", len(rows), len(given))
	}
	var off []float64 // s, of each reading's time; the drive begins somewhere in the car's time
	for i, row := range rows {
		at, errAt := strconv.ParseFloat(row[0], 64)
		value, errValue := strconv.ParseFloat(row[3], 64)
		g := given[i]
		f := pids.Lookup(g.PID).Fields[0]
		if errAt != nil || errValue != nil || row[1] != g.ECU || row[2] != string(f.Signal) || row[4] != f.Unit ||
			math.Abs(value-g.Value) > 0.05 {
			t.Fatalf("row %d is %v, given %+v (%s)", i, row, g, f.Signal)
		}
		off = append(off, at-g.At.Seconds())
	}
	middle := median(off)
	for i, o := range off {
		if math.Abs(o-middle) > late {
			t.Fatalf("row %d is %.3f s off its time", i, o-middle)
		}
	}
	if drift := median(off[len(off)/2:]) - median(off[:len(off)/2]); math.Abs(drift) > 0.05 {
		t.Errorf("readings of the second half are %.3f s later than those of the first", drift)
	}
}

func median(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	return sorted[len(sorted)/2]
}

// waitForReadings waits until another process has recorded some.
func waitForReadings(t *testing.T, path string) {
	t.Helper()
	if err := readings(path, 20); err != nil {
		t.Fatal(err)
	}
}

// readings waits until engine speed was recorded more than n times. A busy computer takes its time.
func readings(path string, n int) error {
	look := time.NewTicker(20 * time.Millisecond)
	defer look.Stop()
	for deadline := time.Now().Add(time.Minute); ; <-look.C {
		text, err := os.ReadFile(path)
		if err == nil && strings.Count(string(text), "010C") > n {
			return nil
		}
		if time.Now().After(deadline) {
			return fmt.Errorf("engine speed was not recorded %d times in a minute", n)
		}
	}
}

// A killed process loses at most the line it was writing.
func TestDemo_Killed(t *testing.T) {
	t.Parallel()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "killed.jsonl")
	child := exec.CommandContext(t.Context(), self)
	child.Env = append(os.Environ(), asJudder+"=demo\n--headless\n--for\n60s\n--out\n"+out)
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	waitForReadings(t, out)
	if err := child.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = child.Wait() // it was killed; that is no news
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	r := reviewJSON(t, out)
	if !strings.HasPrefix(r.Damage, "no end after") || strings.Contains(r.Damage, "missing") {
		t.Errorf("damage: %s", r.Damage)
	}
	if r.Duration < 1 || !strings.Contains(string(text), `"k":"header"`) {
		t.Errorf("%.1f s can be read", r.Duration)
	}
}

// An adapter that answers with the ignition off does not look like no adapter.
func TestDrive_IgnitionOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		off := simcar.WarmIdle()
		off.Ignition = false
		sim := simcar.New(simcar.Steady(off), simcar.Instant())
		out := filepath.Join(t.TempDir(), "off.jsonl")
		code, _, stderr := judderOn(t, sim.Pipe, "", "drive", "--port", inMemory, "--headless", "--for", "2s", "--out", out)
		last := stderr[strings.LastIndex(strings.TrimSpace(stderr), "\n")+1:]
		if code != exitFailed || !strings.Contains(last, "ignition") || strings.Contains(last, "meanwhile") || !strings.Contains(last, "Nothing was recorded") {
			t.Errorf("%d: %s", code, stderr)
		}
		if _, err := os.Stat(out); err == nil {
			t.Error("a recording in which the car never said anything is left and blocks its name")
		}
	})
}

// A parameter of the vehicle profile that the car refuses is named while driving, at the end and in
// the review, for people and for machines (ISO 14229-1: 7F 22 31, request out of range).
func TestDrive_RefusedParameter(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim := simcar.New(simcar.CarFunc(swinging), append(simcar.Realistic(), simcar.WithECUs(simcar.EngineECU(), simcar.TransmissionECU()))...)
		dir := t.TempDir()
		out, profile := filepath.Join(dir, "drive.jsonl"), filepath.Join(dir, "car.toml")
		const text = "name = \"practice car\"\n[[parameter]]\nsignal = \"SLIP\"\nname = \"converter slip\"\nrole = \"slip\"\nmodule = \"7E1\"\nidentifier = \"F0F0\"\nbytes = 2\nscale = 0.25\nunit = \"rpm\"\n"
		if err := os.WriteFile(profile, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		code, stdout, stderr := judderOn(t, sim.Pipe, "", "drive", "--port", inMemory, "--headless", "--for", "5s", "--profile", profile, "--out", out)
		if code != exitOK || strings.Count(stderr, "not read: SLIP: the car refused it (7F 22 31)") != 1 {
			t.Errorf("%d: %s", code, stderr)
		}
		_, review, _ := judder(t, "review", out)
		for what, page := range map[string]string{"at the end": stdout, "review": review} {
			if page = unwrapped(page); !strings.Contains(page, "SLIP (7E1 F0F0): the car refused it (7F 22 31); it does not have what was") || !strings.Contains(page, "in the profile") {
				t.Errorf("%s: %s", what, page)
			}
		}
		got := reviewJSON(t, out).NotRead
		if len(got) != 1 || got[0].Asked < 3 || got[0].Since <= 0 || got[0].Since > 5 {
			t.Fatalf("for machines: %+v", got)
		}
		got[0].Asked, got[0].Since = 0, 0
		if want := (missingRow{Signal: "SLIP", Module: "7E1", Identifier: "F0F0", Why: "the car refused it (7F 22 31)", Refusal: "31"}); got[0] != want {
			t.Errorf("for machines: %+v", got)
		}
	})
}

// A recording that stops before the drive does (here at the largest file that the shell allows)
// says so at the end too, and up to when there is one.
func TestDemo_NoRoom(t *testing.T) {
	t.Parallel()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "full.jsonl")
	child := exec.CommandContext(t.Context(), "sh", "-c", `ulimit -f 20; exec "$0"`, self)
	child.Env = append(os.Environ(), asJudder+"=demo\n--headless\n--for\n10s\n--out\n"+out) // a busy computer reads less in a second
	said, err := child.CombinedOutput()
	if code := child.ProcessState.ExitCode(); code != exitFailed {
		t.Errorf("exit code %d (%v) of a drive that is not recorded whole", code, err)
	}
	if want := "recorded in " + out + " only until 0:00:0"; !strings.Contains(string(said), want) || !strings.Contains(string(said), "then recording stopped: the disk is full; judder replay") {
		t.Errorf("%q is missing in %s", want, said)
	}
	if r := reviewJSON(t, out); r.Damage == "" || r.Duration < 0.5 || r.Duration > 10.5 {
		t.Errorf("what is kept: %.1f s, %q", r.Duration, r.Damage)
	}
}

// A recording that is removed during the drive is written again; where that cannot be done, the end says
// so and the command fails.
func TestDemo_RecordingRemoved(t *testing.T) {
	t.Parallel()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		meddle func(dir, out string) error
		code   int
		says   []string
	}{
		{"removed", func(_, out string) error { return os.Remove(out) }, exitOK,
			[]string{"  the recording was removed or moved: it was written again, whole\n", ", written again whole after it was removed or moved; judder replay "}},
		{"folder renamed", func(dir, _ string) error { return os.Rename(dir, dir+"2") }, exitFailed,
			[]string{"  the recording is no longer where it was begun: ", "the recording is no longer in "}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := filepath.Join(t.TempDir(), "drives")
			if err := os.Mkdir(dir, 0o700); err != nil {
				t.Fatal(err)
			}
			out := filepath.Join(dir, "a.jsonl")
			var said bytes.Buffer
			child := exec.CommandContext(t.Context(), self)
			child.Env = append(os.Environ(), asJudder+"=demo\n--headless\n--for\n8s\n--out\n"+out)
			child.Stdout, child.Stderr = &said, &said
			if err := child.Start(); err != nil {
				t.Fatal(err)
			}
			if err := errors.Join(readings(out, 20), c.meddle(dir, out)); err != nil {
				t.Fatal(err)
			}
			err := child.Wait()
			if code := child.ProcessState.ExitCode(); code != c.code {
				t.Errorf("exit code %d (%v): %s", code, err, said.String())
			}
			for _, want := range c.says {
				if !strings.Contains(said.String(), want) {
					t.Errorf("no %q in %s", want, said.String())
				}
			}
			if c.code == exitOK {
				if err := endsBy(out, recording.WhyTime); err != nil {
					t.Error(err)
				}
			}
		})
	}
}
