package cli

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/obd/traffic"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/simcar"
)

// swinging is a car with values that always move.
func swinging(t time.Duration) simcar.Condition {
	c := simcar.WarmIdle()
	s := t.Seconds()
	c.RPM, c.SpeedKMH = 1700+60*math.Sin(2*math.Pi*1.9*s), 80+5*math.Sin(s)
	c.ThrottlePct, c.LoadPct = 20+2*math.Sin(s), 35+3*math.Cos(s)
	return c
}

func TestAdapter_JSON(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim := simcar.New(simcar.CarFunc(swinging), simcar.Realistic()...)
		code, out, said := judderOn(t, sim.Pipe, "", "adapter", "--json", "--port", inMemory)
		var x adapterJSON
		if err := json.Unmarshal([]byte(out), &x); err != nil || code != exitOK {
			t.Fatalf("%v, exit code %d: %s%s", err, code, out, said)
		}
		if x.Adapter == "" || len(x.Abilities) < 8 || x.ReadingsPerSecond < 5 || !strings.Contains(x.Protocol, "CAN") {
			t.Errorf("%+v", x)
		}
		if n := sim.WriteAttempts(); n != 0 {
			t.Errorf("%d requests would have changed the car", n)
		}
	})
}

func TestAdapter_Text(t *testing.T) {
	var out strings.Builder
	x := inquiry.Examination{
		Capabilities: obd.Capabilities{Adapter: "ELM327 v1.5", Baud: 115200}, Car: "the car answers: 7E8",
		Abilities: []inquiry.Ability{{Name: "receive filter", Proven: inquiry.Pretends}, {Name: "higher serial speed", Proven: inquiry.Works, Detail: "115200 baud in place of 38400"}},
		Exchange:  12 * time.Millisecond, PerSecond: 61,
	}
	if err := (&adapterCommand{portFlags: portFlags{Port: "/dev/ttyUSB0"}}).text(&env{out: &out}, &x); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(out.String(), "renews") {
		t.Error("nothing is known of how often the car renews engine speed")
	}
	x.Renewed = 5
	if err := (&adapterCommand{portFlags: portFlags{Port: "/dev/ttyUSB0"}}).text(&env{out: &out}, &x); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"5.0 per second", "61 readings per second\n", "strong shudder only", "good: can find shudder and clear a car", "its own words", "/dev/ttyUSB0 at 115200 baud", "says OK and does nothing", "works: 115200 baud in place of 38400", "12.0 ms"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in:\n%s", want, out.String())
		}
	}
}

// The protocol is always named, and a wait that costs nothing does not read as a fault.
func TestAdapter_ProtocolAndWait(t *testing.T) {
	for want, can := range map[string]obd.Capabilities{
		"ISO 15765-4 (CAN 11/500)":               {Protocol: "A6", Form: obd.FormCAN11},
		"CAN with 11-bit addresses, by the form": {Form: obd.FormCAN11}, "not known": {},
	} {
		if got := protocolText(&can); !strings.HasPrefix(got, want) {
			t.Errorf("%+v: %q, want %q", can, got, want)
		}
	}
	wait := inquiry.Ability{Name: inquiry.AdaptiveTiming, Proven: inquiry.Pretends, Detail: "waits 199 ms behind a reply, 198 ms without it"}
	if got := abilityText(&wait, true); !strings.HasSuffix(got, "avoids the wait") {
		t.Error(got)
	}
	if got := abilityText(&wait, false); got != "says OK and does nothing: "+wait.Detail {
		t.Error(got)
	}
}

// The grade follows the new values a second, by the limits of the detector (3 and 9 a second).
func TestGradeOf(t *testing.T) {
	for _, c := range []struct {
		x    inquiry.Examination
		want string
	}{
		{inquiry.Examination{PerSecond: 40}, "good"},
		{inquiry.Examination{PerSecond: 40, Renewed: 39}, "good"},
		{inquiry.Examination{PerSecond: 40, Renewed: 5}, "strong shudder only"},
		{inquiry.Examination{PerSecond: 5}, "strong shudder only"},
		{inquiry.Examination{PerSecond: 1}, "too slow"},
		{inquiry.Examination{}, "no engine speed"},
		{inquiry.Examination{Mixed: true}, "mixed replies"},
	} {
		if got := gradeWords[gradeOf(&c.x)]; got.code != c.want || got.text == "" {
			t.Errorf("%+v: %q, want %q", c.x, got.code, c.want)
		}
	}
}

// Each outcome of listening has its code, its sentence, and a row in the document.
func TestTrafficText(t *testing.T) {
	page, err := os.ReadFile("../docs/adapters.md")
	if err != nil {
		t.Fatal(err)
	}
	codes := map[string]bool{}
	for h := inquiry.NotListened + 1; h <= inquiry.LostListening; h++ {
		b := inquiry.BusTraffic{Hearing: h, Sum: traffic.Sum{IDs: 32, PerSecond: 854.4, Fast: 17}}
		text, j := trafficText(&b), trafficFor(&b)
		if text == "" || j == nil || j.Outcome == "" || codes[j.Outcome] || strings.Contains(text, "%") {
			t.Errorf("%d: %q, %+v", h, text, j)
			continue
		}
		codes[j.Outcome] = true
		if !strings.Contains(string(page), "| `"+j.Outcome+"` |") {
			t.Errorf("docs/adapters.md does not explain %q", j.Outcome)
		}
		counted := strings.Contains(text, "32 ids and 854 frames")
		if want := h == inquiry.HearsTraffic || h == inquiry.IgnoresFilters || h == inquiry.Overflows; counted != want {
			t.Errorf("%d: %q", h, text)
		}
	}
	for want, b := range map[string]inquiry.BusTraffic{
		"at least 32 ids":               {Hearing: inquiry.HearsTraffic, Sum: traffic.Sum{IDs: 32}, Cut: true},
		"until then: nothing":           {Hearing: inquiry.Overflows},
		"try again with the engine run": {Hearing: inquiry.HearsNothing, EngineStood: true},
		"":                              {},
	} {
		if got := trafficText(&b); !strings.Contains(got, want) || want == "" && got != "" {
			t.Errorf("%+v: %q, want %q", b, got, want)
		}
	}
}

// The grade is the first line, the protocol is there once, and the socket's traffic is the last.
func TestAdapter_Page(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		car := simcar.CarFunc(swinging)
		sim := simcar.New(car, append(simcar.Realistic(), simcar.WithTraffic(simcar.Broadcasts(car, false)))...)
		code, out, said := judderOn(t, sim.Pipe, "", "adapter", "--port", inMemory)
		if code != exitOK || !strings.HasPrefix(out, "grade ") || strings.Count(out, "15765-4") != 1 || !strings.Contains(out, "bus traffic ") {
			t.Errorf("exit code %d:\n%s%s", code, out, said)
		}
	})
}
