package reply

import (
	"judder/obd"
	"testing"
	"time"
)

// What was there before a request went out answers an earlier one, though it is to the same
// parameter; two computers that round one road speed tell one.
func TestDecoder_ThereBeforeTheRequest(t *testing.T) {
	var d Decoder
	at := func(ms int) time.Duration { return time.Duration(ms) * time.Millisecond }
	d.Messages(&obd.Exchange{Request: "010C", Sent: at(0), Form: obd.FormBare})
	x := obd.Exchange{Request: "010C", Sent: at(100), Form: obd.FormBare, Lines: []obd.Line{{At: at(90), Text: "410C0FA0"}, {At: at(110), Text: "410C1AF8"}}}
	if got := d.Messages(&x); len(got) != 2 || !got[0].Late || got[1].Late {
		t.Errorf("%+v", got)
	}
	for other, want := range map[string]int{"410D33": 2, "410D34": 0} {
		var d Decoder
		x := obd.Exchange{Request: "010D", Form: obd.FormBare, Lines: []obd.Line{{At: at(10), Text: "410D32"}, {At: at(12), Text: other}}}
		if got := d.Samples(nil, &x); len(got) != want {
			t.Errorf("410D32 and %s: %v", other, got)
		}
	}
}
