package obd

import "testing"

func TestRequestAddress(t *testing.T) {
	// ISO 15765-4: 11-bit requests at reply - 8; on 29 bits sender and receiver change places.
	for reply, want := range map[string]string{"7E8": "7E0", "7EF": "7E7", "18DAF110": "18DA10F1", "x": "", "": ""} {
		if got := RequestAddress(reply); got != want {
			t.Errorf("%q: %q, want %q", reply, got, want)
		}
	}
}

func TestReplyAddress(t *testing.T) {
	// ISO 15765-4: 11-bit replies at request + 8; 29-bit 18DAxxF1 answered as 18DAF1xx.
	for request, want := range map[string]string{"7E0": "7E8", "7e1": "7E9", "760": "768", "18DA28F1": "18DAF128"} {
		if got := ReplyAddress(request); got != want {
			t.Errorf("%s is answered at %s, want %s", request, got, want)
		}
	}
}
