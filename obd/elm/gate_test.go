package elm

import (
	"bytes"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"github.com/judder-obd/judder/prose"
)

// The services that only read: SAE J1979 has 01 to 0A, of which 04 clears codes, 05 is the
// oxygen sensor test of older buses and 08 controls outputs; ISO 14229-1 has 19, 22 and 3E.
var passing = []byte{0x01, 0x02, 0x03, 0x06, 0x07, 0x09, 0x0A, 0x19, 0x22, 0x3E}

// sent is what transmit wrote for a command.
func sent(command string) (string, error) {
	var out bytes.Buffer
	err := transmit(&out, &guard{quiet: true}, command, make([]byte, 0, 32))
	return out.String(), err
}

// refused is what is wrong with the refusal of a command; "" when it is as it should be.
func refused(command string) string {
	out, err := sent(command)
	var r *RefusedError
	switch {
	case !errors.As(err, &r):
		return fmt.Sprintf("%q: error %v, want a *RefusedError", command, err)
	case out != "":
		return fmt.Sprintf("%q was refused, yet %q was written", command, out)
	case r.Why == "":
		return fmt.Sprintf("%q: no reason given", command)
	case strings.ContainsFunc(err.Error(), prose.Steers):
		return fmt.Sprintf("%q: control character in %q", command, err.Error())
	}
	return ""
}

func TestGate_EveryService(t *testing.T) {
	for service := range 256 {
		// alone, with items, with the count digit, as long as may be
		for _, rest := range []string{"", "0C", "0C0D", "0C0D1", "010203040506", "0102030405061"} {
			command := fmt.Sprintf("%02X%s", service, rest)
			if !slices.Contains(passing, byte(service)) {
				if wrong := refused(command); wrong != "" {
					t.Error(wrong)
				}
				continue
			}
			out, err := sent(command)
			if err != nil || out != command+"\r" {
				t.Errorf("%q: wrote %q, %v", command, out, err)
			}
		}
	}
}

// The commands that keep something in the adapter or send by themselves, as the ELM327 data
// sheet lists them; the gate lets none pass, whatever their arguments.
func TestGate_NothingThatWritesIntoTheAdapter(t *testing.T) {
	for _, command := range []string{
		"ATPP0CSV23", "ATPP0CON", "ATPP0COFF", "ATPPFFON", "ATPPFFOFF", "ATPPFFSV00", "ATPP 0C SV 23", "ATPPS",
		"ATSD1A", "ATSD 1A", "AT@3ABCDEFGHIJKL", "AT@3",
		"ATCV1234", "ATCV0000", "ATCV 1234",
		"ATSP0", "ATSP6", "ATSPA6", "ATSP00", "ATSS", "ATM1",
		"ATWM0102030405", "ATWMC233F13E01", "ATMA", "ATMR10", "ATMT10", "ATDM1", "ATMP1234", "ATMP123456",
		"ATBRD00", "ATBRD68", "ATBRT0F", "ATIIA13", "ATFI", "ATSI", "ATLP", "ATR0", "ATPB8001", "ATRTR", "ATBD",
		"AT", "ATZZ", "ATZ0", "ATSH", "ATSH7", "ATSH7DF0", "ATSH7DG", "ATST", "ATST1", "ATST123", "ATTP", "ATTPG",
		"AT Z", "ATZ ", " ATZ", "STDI", "ATFCSD", "ATFCSD1",
		"ATCSM0", // it would acknowledge frames while it listens
		"ATCAF0", // a request's first byte would be its length: 0104 is then service 04, which clears codes
	} {
		if wrong := refused(command); wrong != "" {
			t.Error(wrong)
		}
	}
}

// Text that is no command: a bare carriage return would have the adapter repeat its last
// command (ELM327 data sheet), a second one hidden in the text would pass unseen.
func TestGate_Malformed(t *testing.T) {
	for _, command := range []string{
		"", "\r", "\n", "0", "1", "G", " ", "010c", "010C ", " 010C", "01 0C", "atz", "AtZ", "aTI", "0x010C",
		"010C\r", "010C\r04", "\r010C", "010C\n04", "ATZ\r", "ATZ\r04", "ATI\n", "ATST\r1", "ATSH7D\r",
		"010C\x00", "\x1b[2J", "ATZ\x1b", "010C\x7f", "010\xc3\x87", "０１０Ｃ", "010C>", "010C;04", "010C?",
		"0102030405060708", "01020304050607081", strings.Repeat("01", 1000), "AT" + strings.Repeat("Z", 1000),
	} {
		if wrong := refused(command); wrong != "" {
			t.Error(wrong)
		}
	}
	// seven bytes are the limit of the data sheet (p. 30), eight are one too many
	for _, command := range []string{"01020304050607", "010203040506071"} {
		if _, err := sent(command); err != nil {
			t.Error(err)
		}
	}
}

// Every byte value put into, or instead of a byte of, a command that passes: what gets
// through is again upper-case hex of a service that reads, or a listed adapter command.
func TestGate_OneByteChanged(t *testing.T) {
	for _, base := range []string{"010C0D1", "03", "22116B", "ATSH7DF", "ATZ", "ATTP0"} {
		for i := range len(base) + 1 {
			for c := range 256 {
				inserted := base[:i] + string([]byte{byte(c)}) + base[i:]
				commands := []string{inserted}
				if i < len(base) {
					commands = append(commands, base[:i]+string([]byte{byte(c)})+base[i+1:])
				}
				for _, command := range commands {
					if out, err := sent(command); err == nil {
						checkPassed(t, command, out)
					} else if wrong := refused(command); wrong != "" {
						t.Error(wrong)
					}
				}
			}
		}
	}
}

// checkPassed judges what passed by rules of its own, not by the gate's.
func checkPassed(t *testing.T, command, out string) {
	t.Helper()
	if out != command+"\r" || strings.Trim(command, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789@") != "" {
		t.Errorf("%q was written as %q", command, out)
	}
	if rest, ok := strings.CutPrefix(command, "AT"); ok {
		for _, writes := range []string{"PP", "SD", "@3", "CV", "SP", "WM", "MA", "MR", "MT", "M1", "SS", "CAF0", "CSM0"} {
			if strings.HasPrefix(rest, writes) {
				t.Errorf("%q passed", command)
			}
		}
		return
	}
	service := bytes.IndexByte([]byte("0123456789ABCDEF"), command[0])<<4 | bytes.IndexByte([]byte("0123456789ABCDEF"), command[1])
	if service < 0 || !slices.Contains(passing, byte(service)) {
		t.Errorf("%q passed", command)
	}
}

// A write that fails is the link's error, not a refusal.
func TestTransmit_LinkError(t *testing.T) {
	broken := errors.New("unplugged")
	if err := transmit(failing{broken}, &guard{quiet: true}, "010C", nil); !errors.Is(err, broken) {
		t.Errorf("got %v", err)
	}
}

type failing struct{ error }

func (f failing) Write([]byte) (int, error) { return 0, f.error }

// writesIn lists, for each function of the package, the calls by which bytes leave: methods
// named Write..., and the library functions that take a writer.
func writesIn(t *testing.T) (writes, calls map[string][]string) {
	t.Helper()
	notTest := func(f fs.FileInfo) bool { return !strings.HasSuffix(f.Name(), "_test.go") }
	//nolint:staticcheck // one package, no build tags: the plain parser is enough
	packages, err := parser.ParseDir(token.NewFileSet(), ".", notTest, 0)
	if err != nil || packages["elm"] == nil {
		t.Fatalf("cannot read the package: %v", err)
	}
	writes, calls = map[string][]string{}, map[string][]string{}
	for _, file := range packages["elm"].Files {
		for _, decl := range file.Decls {
			name := "package level"
			if f, ok := decl.(*ast.FuncDecl); ok {
				name = f.Name.Name
			}
			ast.Inspect(decl, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.SelectorExpr: // called or taken as a value
					for _, way := range []string{"Write", "Fprint", "Copy", "ReadFrom", "Pipe"} {
						if strings.HasPrefix(n.Sel.Name, way) && n.Sel.Name != "Writer" {
							writes[name] = append(writes[name], n.Sel.Name)
						}
					}
				case *ast.Ident:
					if writer := n.Name; slices.Contains(writers, writer) && name != writer {
						calls[writer] = append(calls[writer], name)
					}
				}
				return true
			})
		}
	}
	for _, callers := range calls {
		slices.Sort(callers)
	}
	return writes, calls
}

// writers are the functions that write, each for its own purpose.
var writers = []string{"transmit", "erase", "confirm", "monitor", "halt"}

// What reaches the car passes the gate because nothing else in the package writes; what clears
// is reached from Erase alone, and a bare carriage return from the handshake of a new speed.
func TestGate_OnlyTransmitWrites(t *testing.T) {
	writes, calls := writesIn(t)
	for name, how := range writes {
		if !slices.Contains(writers, name) || !slices.Equal(how, []string{"Write"}) {
			t.Errorf("%s writes, by %v", name, how)
		}
	}
	for writer, want := range map[string][]string{
		"transmit": {"Exchange", "Raise", "Restart"}, "erase": {"Erase"}, "confirm": {"Raise"},
		"monitor": {"Monitor"}, "halt": {"Monitor"},
	} {
		if got := slices.Compact(calls[writer]); !slices.Equal(got, want) {
			t.Errorf("%s is called by %v, want %v", writer, got, want)
		}
	}
}

// erase writes its two requests and nothing else, and transmit writes neither.
func TestErase(t *testing.T) {
	for _, command := range []string{"04", "14FFFF33"} {
		var out bytes.Buffer
		if err := erase(&out, &guard{quiet: true}, command); err != nil || out.String() != command+"\r" {
			t.Errorf("%s: wrote %q, %v", command, out.String(), err)
		}
		if wrong := refused(command); wrong != "" {
			t.Error(wrong)
		}
	}
	for _, command := range []string{"", "4", "04 ", "0400", "14FFFFFF", "14000000", "1101", "2E", "08", "ATZ", "010C"} {
		var out bytes.Buffer
		if err := erase(&out, &guard{quiet: true}, command); err == nil || out.Len() > 0 {
			t.Errorf("%q: wrote %q, %v", command, out.String(), err)
		}
	}
}
