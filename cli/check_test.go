package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
	"github.com/judder-obd/judder/simcar"
)

// parked is a warm, parked car with its engine off.
func parked(time.Duration) simcar.Condition {
	c := simcar.WarmIdle()
	c.RPM, c.SpeedKMH = 0, 0
	return c
}

// carWithCodes is a car that remembers codes.
func carWithCodes() (sim *simcar.Sim, engine *simcar.ECU) {
	engine = simcar.EngineECU()
	engine.Stored, engine.Pending, engine.Permanent = simcar.Codes("P0741"), simcar.Codes("P0304"), simcar.Codes("P0420")
	frozen := simcar.WarmIdle()
	frozen.RPM = 1726
	engine.Freeze = &simcar.Freeze{Code: simcar.Codes("P0741")[0], Condition: frozen}
	sim = simcar.New(simcar.CarFunc(parked), simcar.Instant(), simcar.WithECUs(engine, simcar.BrakesModule(), simcar.BodyModule()))
	return sim, engine
}

// checkJSON is what others rely on, read as they would.
type checkJSON struct {
	VIN      string `json:"vin"`
	Protocol string `json:"protocol"`
	ECUs     []struct {
		ECU          string   `json:"ecu"`
		Name         string   `json:"name"`
		Calibrations []string `json:"calibration_ids"`
		CVNs         []string `json:"calibration_verification_numbers"`
		Codes        []struct{ Code, State, Service, Status string }
	}
	NotAnswering []string `json:"not_answering"`
}

func TestCheck_JSON(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim, _ := carWithCodes()
		dir := t.TempDir()
		profile := filepath.Join(dir, "car.toml")
		if err := os.WriteFile(profile, []byte("name = \"practice car\"\n[[module]]\nname = \"body\"\nrequest = \"710\"\nreply = \"77A\"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		raw, kept := filepath.Join(dir, "raw.jsonl"), filepath.Join(dir, "kept.json")
		code, out, said := judderOn(t, sim.Pipe, "", "check", "--json", "--port", inMemory, "--module", "0x760", "--module", "0X730", "--profile", profile, "--raw", raw, "--out", kept)
		var x checkJSON
		if err := json.Unmarshal([]byte(out), &x); err != nil || code != exitOK {
			t.Fatalf("%v, exit code %d: %s%s", err, code, out, said)
		}
		got := map[string]string{}
		for _, e := range x.ECUs {
			for _, c := range e.Codes {
				got[e.ECU] += strings.TrimSpace(c.Code+" "+c.State+" "+c.Service+" "+c.Status) + ";"
			}
		}
		for ecu, want := range map[string]string{
			"7E8": "P0741 stored 03;P0304 pending 07;P0420 permanent 0A;",
			"768": "U0140-00 history 19 28;C0035-11 current 19 2F;",
			"77A": "U0100-87 history 19 28;U0121-87 history 19 28;U0155-00 history 19 68;",
		} {
			if got[ecu] != want {
				t.Errorf("%s: %s, want %s", ecu, got[ecu], want)
			}
		}
		if !strings.HasSuffix(x.VIN, "******") || len(x.VIN) != 17 || x.Protocol != "ISO 15765-4 (CAN 11/500)" || strings.Join(x.NotAnswering, ",") != "730" {
			t.Errorf("VIN %q, protocol %q, not answering %v", x.VIN, x.Protocol, x.NotAnswering)
		}
		if n := sim.WriteAttempts(); n != 0 {
			t.Errorf("%d requests would have changed the car", n)
		}
		vin := engineVIN(t)
		for _, path := range []string{raw, kept} {
			if text, err := os.ReadFile(path); err != nil || strings.Contains(string(text), vin[9:]) || hexOf(vin[11:], string(text)) {
				t.Errorf("%s: %v, or it holds the VIN", path, err)
			}
		}
		asked := len(sim.Requests())
		for flag, path := range map[string]string{"--raw": raw, "--out": kept} {
			if code, _, said := judderOn(t, sim.Pipe, "", "check", "--port", inMemory, flag, path); code != exitFailed || !strings.Contains(said, "exist") {
				t.Errorf("%s with an existing file: %d, %s", flag, code, said)
			}
		}
		if n := len(sim.Requests()); n != asked {
			t.Errorf("%d requests before an existing file was refused", n-asked)
		}
	})
}

func engineVIN(t *testing.T) string {
	t.Helper()
	vin := simcar.EngineECU().VIN
	if len(vin) != 17 {
		t.Fatalf("VIN %q", vin)
	}
	return vin
}

// hexOf reports whether text holds the bytes of s in hex, as a raw reply would.
func hexOf(s, text string) bool {
	var b strings.Builder
	for i := range len(s) {
		b.WriteString(strings.ToUpper(string("0123456789abcdef"[s[i]>>4]) + string("0123456789abcdef"[s[i]&15])))
	}
	return strings.Contains(text, b.String())
}

func TestCheck_Text(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim, _ := carWithCodes()
		code, out, said := judderOn(t, sim.Pipe, "", "check", "--port", inMemory, "--vin", "--module", "760", "--raw", filepath.Join(t.TempDir(), "raw.jsonl"))
		if code != exitOK {
			t.Fatalf("%d: %s", code, said)
		}
		for _, want := range []string{engineVIN(t), "what to do first", "P0741     stored    converter clutch", "freeze frame of P0741", "1726", "wheel speed sensor left front; short to ground",
			"no source", "self-tests complete", "history"} {
			if !strings.Contains(out, want) {
				t.Errorf("no %q in:\n%s", want, out)
			}
		}
	})
}

func TestCheck_Usage(t *testing.T) {
	for _, c := range []struct{ module, want string }{{"76G", "hex digits"}, {"12345", "three hex digits"}, {"100", "below 600"}, {"18DB33F1", "18DAxxF1"}, {"7E8", "give 7E0"}, {"7DF", "such as 760"}} {
		if code, _, said := judder(t, "check", "--port", "tcp://127.0.0.1:1", "--module", c.module); code != exitUsage || !strings.Contains(said, c.want) {
			t.Errorf("--module %s: %d, %s", c.module, code, said)
		}
	}
}

// Clearing: warned, checked, typed, cleared once, read back and compared; and
// left alone when another word is typed or nothing is.
func TestClear(t *testing.T) {
	for _, c := range []struct {
		name, typed string
		writes      int
		exit        int
		says, shows string
	}{
		{"typed", "CLEAR\n", 1, exitOK, "would be cleared: P0741 stored (ECM-EngineControl)", "gone"},
		{"another word", "yes\n", 0, exitFailed, "stays: P0420 permanent", ""},
		{"nothing", "", 0, exitFailed, "nothing was typed", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				sim, engine := carWithCodes()
				dir := t.TempDir()
				kept := filepath.Join(dir, "before.json")
				code, out, said := judderOn(t, sim.Pipe, c.typed, "clear", "--port", inMemory, "--out", kept, "--raw", filepath.Join(dir, "raw.jsonl"))
				if code != c.exit || !strings.Contains(said, c.says) || !strings.Contains(out, c.shows) {
					t.Errorf("%d\n%s\n%s", code, out, said)
				}
				if n := sim.WriteAttempts(); n != c.writes || (len(engine.Stored) == 0) != (c.writes == 1) {
					t.Errorf("%d requests that clear, %v left", n, engine.Stored)
				}
				if c.writes > 0 {
					compareLater(t, kept, out)
				}
				if r, err := check.Load(kept); err != nil || len(r.ECUs) == 0 || len(r.ECUs[0].Codes) != 3 {
					t.Errorf("the check before: %v, %v", r, err)
				}
			})
		})
	}
}

// compareLater holds what compare says of the two kept checks against what clear said, also in the
// other order; another check of a masked number proves nothing.
func compareLater(t *testing.T, before, out string) {
	t.Helper()
	after := strings.TrimSuffix(before, ".json") + "-after.json"
	if code, later, said := judder(t, "compare", before, after); code != exitOK || later != out || !strings.Contains(later, "same car  yes") {
		t.Errorf("%d %s: compare says\n%s\nclear said\n%s", code, said, later, out)
	}
	if _, later, _ := judder(t, "compare", after, before); !strings.Contains(later, "same car  yes") {
		t.Errorf("the other way round: %s", later)
	}
	r, err := check.Load(before)
	if err != nil {
		t.Fatal(err)
	}
	r.Time = r.Time.Add(-time.Hour)
	other := before + ".other"
	if err := check.Save(other, r); err != nil {
		t.Fatal(err)
	}
	if _, later, _ := judder(t, "compare", other, after); !strings.Contains(later, "same car  not compared") {
		t.Errorf("another check: %s", later)
	}
}

// A clearing that the car refuses is read back and compared all the same.
func TestClear_RefusedIsReadBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim, engine := carWithCodes()
		engine.Refusals = append(engine.Refusals, simcar.Refusal{Service: 0x04, Param: -1, Code: 0x22})
		kept := filepath.Join(t.TempDir(), "before.json")
		code, out, said := judderOn(t, sim.Pipe, "CLEAR\n", "clear", "--port", inMemory, "--out", kept, "--raw", kept+".raw")
		if code != exitFailed || !strings.Contains(said, "refused to clear") || !strings.Contains(said, "reading back") || !strings.Contains(out, "unchanged") {
			t.Errorf("%d\n%s\n%s", code, out, said)
		}
		if n := sim.WriteAttempts(); n != 1 || len(engine.Stored) == 0 {
			t.Errorf("%d requests that clear, %v left", n, engine.Stored)
		}
		if _, err := check.Load(strings.TrimSuffix(kept, ".json") + "-after.json"); err != nil {
			t.Error(err)
		}
	})
}

// Two kept checks side by side, and what is no check.
func TestCompare(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, r *check.Report) string {
		path := filepath.Join(dir, name)
		if err := check.Save(path, r); err != nil {
			t.Fatal(err)
		}
		return path
	}
	codes := func(list ...string) *check.Report {
		r := &check.Report{VIN: "x", ECUs: []check.ECU{{ID: "7E8"}}}
		for _, c := range list {
			r.ECUs[0].Codes = append(r.ECUs[0].Codes, check.Code{Code: c, State: dtc.Stored})
		}
		return r
	}
	before, after := write("a.json", codes("P0741", "P0304")), write("b.json", codes("P0304", "P0420"))
	code, out, said := judder(t, "compare", before, after)
	for _, want := range []string{"  gone       P0741      stored → –", "  unchanged  P0304      stored", "  new        P0420      – → stored", "same car  yes", before, after} {
		if code != exitOK || !strings.Contains(out, want) {
			t.Errorf("%d: no %q in\n%s%s", code, want, out, said)
		}
	}
	bad := filepath.Join(dir, "bad.json")
	if err := os.WriteFile(bad, []byte("{}"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, said := judder(t, "compare", bad, after); code != exitFailed || !strings.Contains(said, "no kept check") {
		t.Errorf("%d: %s", code, said)
	}
	if err := check.Save(before, codes()); err == nil {
		t.Error("a kept check was overwritten")
	}
}

// No command but clear sends anything that changes the car.
func TestNothingElseClears(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for _, args := range [][]string{
			{"check", "--raw", filepath.Join(t.TempDir(), "r.jsonl")},
			{"drive", "--headless", "--for", "2s", "--out", filepath.Join(t.TempDir(), "d.jsonl"), "--vin"},
		} {
			sim, engine := carWithCodes()
			if code, _, said := judderOn(t, sim.Pipe, "", append(args, "--port", inMemory)...); code != exitOK {
				t.Errorf("%v: %d, %s", args, code, said)
			}
			if n := sim.WriteAttempts(); n != 0 || len(engine.Stored) != 1 {
				t.Errorf("%v: %d requests that change the car", args, n)
			}
			for _, r := range sim.Requests() {
				if strings.HasPrefix(r.Text, "04") || strings.HasPrefix(r.Text, "14") {
					t.Errorf("%v sent %q", args, r.Text)
				}
			}
		}
	})
}
