package check

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/judder-obd/judder/pids/dtc"
)

// Every outcome and every item reads back from its words.
func TestPhrases_ReadBack(t *testing.T) {
	for k := Read; k <= Worded; k++ {
		o := Outcome{Kind: k}
		words := outcomePhrases.write(k, slots{})
		if strings.Contains(words, "refused:") {
			o.Code = 0x31
		}
		if strings.ContainsAny(words, "0") {
			o.N, o.Of = 3, 5
		}
		if k == Worded || k == ModuleOnOldBus {
			o.Text = "some words"
		}
		var back Outcome
		if err := back.UnmarshalText([]byte(o.String())); err != nil || back.String() != o.String() || back.Kind != k {
			t.Errorf("%d: %q reads as %+v", k, o, back)
		}
		note := Note{Item{Kind: ItemMonitor, ID: 0xA2}, o}
		var read Note
		if err := read.UnmarshalText([]byte(note.String())); err != nil || read.Item != note.Item || read.Outcome.Kind != k {
			t.Errorf("%q reads as %+v", note, read)
		}
	}
	for k := StepSupply; k <= ItemOther; k++ {
		i := Item{Kind: k}
		if k == ItemDetail || k == ItemDetailsAfter || k == ItemFreeze || k == ItemModule || k == ItemOther {
			i.Name = "P0741"
		}
		if back := itemOf(i.String()); back != i {
			t.Errorf("%d: %q reads as %+v", k, i, back)
		}
	}
}

// Every outcome and every item has words for people, with all places filled.
func TestWords(t *testing.T) {
	for k := Read; k <= Worded; k++ {
		if text := (Outcome{Kind: k, Text: "t"}).Words(); text == "" || strings.ContainsAny(text, "{}") || strings.Contains(text, "computer") {
			t.Errorf("outcome %d: %q", k, text)
		}
	}
	for k := StepSupply; k <= ItemOther; k++ {
		if text := (Item{Kind: k, Name: "t"}).Words(); text == "" || strings.ContainsAny(text, "{}") || strings.Contains(text, "computer") {
			t.Errorf("item %d: %q", k, text)
		}
	}
}

// Words of the first version, as they are in files that users have kept.
func TestOutcome_Older(t *testing.T) {
	for words, want := range map[string]Outcome{
		"read": Of(Read), "not supported": Of(NotSupported), "no answer; whether such a list is kept is not known": Of(MaybeNotKept),
		"no answer, which is not the same as none": Of(SilentNotNone), "silent": Of(Silent), "damaged": Of(Damaged),
		"refused: it does not know this service; do not ask it again (11)": RefusedWith(0x11), "refused: code 9A": RefusedWith(0x9A),
		"2 told, though the computer counts 5": {Kind: FewerReported, N: 2, Of: 5}, "1 of 2 computers answered": {Kind: FewerAnswered, N: 1, Of: 2},
		"trouble codes, byte 9: the reply ends too early; ask again": {Kind: Worded, Text: "trouble codes, byte 9: the reply ends too early; ask again"},
	} {
		var got Outcome
		if err := got.UnmarshalText([]byte(words)); err != nil || got != want {
			t.Errorf("%q: %+v, want %+v", words, got, want)
		}
	}
	for words, want := range map[string]Note{
		"test results of monitor 01: damaged": {Item{Kind: ItemMonitor, ID: 1}, Of(Damaged)},
		"freeze frames: interrupted":          {Item{Kind: StepFreeze}, Of(Interrupted)},
		"read":                                {Outcome: Of(Read)},
		"refused: busy; ask again in a moment, three times at most (21)": {Outcome: RefusedWith(0x21)},
		"something else": {Outcome: Outcome{Kind: Worded, Text: "something else"}},
	} {
		var got Note
		if err := got.UnmarshalText([]byte(words)); err != nil || got != want || !want.Outcome.Unsupported() && want.Outcome.Kind != Refused && got.String() != words {
			t.Errorf("%q: %+v, want %+v", words, got, want)
		}
	}
}

// A status goes to JSON as bits and words, and comes back as the same bits, also where an older
// version wrote the words alone.
func TestCode_Status(t *testing.T) {
	for _, s := range []dtc.Status{{Bits: 0x2F}, {Bits: 0x08, Unreported: dtc.TestFailed}, {Bits: 0x89, Unreported: 0xFF}} {
		for _, older := range []bool{false, true} {
			text, err := json.Marshal(Code{Code: "P0741-00", State: s.State(), Service: "19", Status: &s})
			if err != nil {
				t.Fatal(err)
			}
			if older {
				var fields map[string]any
				if err := json.Unmarshal(text, &fields); err != nil {
					t.Fatal(err)
				}
				delete(fields, "status_unreported")
				fields["status_words"] = s.OlderWords()
				text, _ = json.Marshal(fields)
			}
			var back Code
			if err := json.Unmarshal(text, &back); err != nil || back.Status == nil || back.Status.Bits != s.Bits || back.Words() != s.Words() || back.Unclear() != s.Unclear() || back.State != s.State() {
				t.Errorf("%+v, older %v: %s read as %+v", s, older, text, back.Status)
			}
		}
	}
	var back Code
	if err := json.Unmarshal([]byte(`{"code":"P0741","state":"stored","service":"03"}`), &back); err != nil || back.Status != nil || back.State != dtc.Stored {
		t.Errorf("%+v %v", back, err)
	}
	if err := json.Unmarshal([]byte(`{"code":"P0741","state":"stored","service":"19","status":"x"}`), &back); err == nil {
		t.Error("a status that is none was read")
	}
}

// Counts that have reached their largest value are at least that (SAE J1979: 255 warm-ups, 65535
// km and minutes).
func TestCleared_Saturated(t *testing.T) {
	for want, v := range map[string][3]float64{
		"at least 65535 km, at least 65535 min, at least 255 warm-ups": {65535, 65535, 255}, "65534 km, 65534 min, 254 warm-ups": {65534, 65534, 254},
	} {
		if got := (&Cleared{KM: &v[0], Minutes: &v[1], WarmUps: &v[2]}).Text(); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

// A file is not overwritten, and one that nothing was written to does not stay.
func TestReserve(t *testing.T) {
	path := filepath.Join(t.TempDir(), "check.json")
	k, err := Reserve(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Reserve(path); err == nil {
		t.Error("reserved twice")
	}
	if err := k.Close(); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("an empty file stays")
	}
	if err := Save(path, &Report{VIN: "x", ECUs: []ECU{{ID: "7E8"}}}); err != nil {
		t.Fatal(err)
	}
	if r, err := Load(path); err != nil || r.VIN != "x" || len(r.ECUs) != 1 {
		t.Errorf("%+v %v", r, err)
	}
}
