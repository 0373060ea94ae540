package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/session/recording"
)

// A number that comes late is nowhere in the kept raw replies, unless it was asked for.
// The number is ours; layout: SAE J1979, ISO 15765-2.
func TestKeeper_LateVIN(t *testing.T) {
	for _, shown := range []bool{false, true} {
		path := filepath.Join(t.TempDir(), "raw.jsonl")
		w, err := recording.Create(path, recording.Header{})
		if err != nil {
			t.Fatal(err)
		}
		k, decoder := &keeper{w: w, vin: shown}, reply.Decoder{}
		for i, x := range []obd.Exchange{
			{Request: "0902", Lines: []obd.Line{{Text: "7E81014490201305445"}}},
			{Request: "0904", Lines: []obd.Line{{Text: "7E8215354313141304B"}, {Text: "7E82230303030303032"}}},
		} {
			x.Sent, x.Form = time.Duration(i)*time.Second, obd.FormCAN11
			x.Done = x.Sent
			k.Exchange(x, decoder.Decode(&x))
		}
		if err := w.Close(recording.WhyUser); err != nil {
			t.Fatal(err)
		}
		text, err := os.ReadFile(path)
		if err != nil || strings.Contains(string(text), "30303032") != shown || !strings.Contains(string(text), "0904") || strings.Contains(string(text), `"0902"`) != shown {
			t.Errorf("VIN %v: %v\n%s", shown, err, text)
		}
	}
}
