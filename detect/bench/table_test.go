package bench

import (
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The flags are described in doc.go.
var (
	table  = flag.Bool("table", false, "print the table of figures")
	first  = flag.Uint64("seed", 1000, "first seed")
	rounds = flag.Int("drives", 1, "rounds of drives, about 7 h each in each world")
	rate   = flag.String("rate", "", "ways of reading, among 3,3u,5,5u,10,20,60,60r; all when empty")
	which  = flag.String("world", "both", "formula, car or both")
	only   = flag.String("only", "", "scripts, all when empty")
	change = flag.String("change", "", "numbers of the detector changed, name=value,…; several variants parted by ;")
	shows  = flag.Int("show", 0, "notes of each kind to list")
	notes  = flag.String("notes", "missed,false,stop,verdict,always-on car missed", "kinds of notes to list, or all")
	work   = flag.Int("workers", 0, "drives at once; 0: one for each core")
	asks   = flag.Bool("oracle", false, "ask the oracle, too")
	replay = flag.String("replay", "", "print the trace of one drive, world/script/seed/swing, read as the first of -rate")
	from   = flag.Float64("from", 0, "s, where the trace begins")
	to     = flag.Float64("to", math.Inf(1), "s, where the trace ends")
	save   = flag.String("save", "", "folder to save the replayed drive in, as time_s,signal,value")
)

func TestTable(t *testing.T) {
	if !*table {
		t.Skip("prints the table with -table")
	}
	p := Plan{Askings: askings(t), Workers: *work, Oracle: *asks}
	variants := strings.Split(*change, ";")
	for _, v := range variants {
		p.Changes = append(p.Changes, parse(t, v))
	}
	var scripts []string
	if *only != "" {
		scripts = strings.Split(*only, ",")
	}
	for _, world := range []string{WorldFormula, WorldCar} {
		if *which != "both" && *which != world {
			continue
		}
		p.Scenes = Scenes(world, *first, *rounds, scripts)
		for a, figures := range Run(p) {
			for v, f := range figures {
				fmt.Println(world, p.Askings[a], variants[v])
				print(t, f)
			}
		}
	}
}

func print(t *testing.T, f *Figures) {
	t.Helper()
	err := f.Print(os.Stdout)
	if err == nil && *shows > 0 {
		err = f.PrintNamed(os.Stdout)
	}
	if err == nil {
		err = f.PrintNotes(os.Stdout, *shows, *notes)
	}
	if err != nil {
		t.Fatal(err)
	}
}

func TestReplay(t *testing.T) {
	if *replay == "" {
		t.Skip("prints the trace of one drive with -replay")
	}
	s, err := ParseScene(*replay)
	if err != nil {
		t.Fatal(err)
	}
	d, err := Replay(os.Stdout, s, askings(t)[0], parse(t, *change), *from, *to)
	if err != nil {
		t.Fatal(err)
	}
	if *save != "" {
		path, err := d.Save(*save)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println("saved", path)
	}
}

func askings(t *testing.T) []Asking {
	t.Helper()
	if *rate == "" {
		return Askings
	}
	var list []Asking
	for _, name := range strings.Split(*rate, ",") {
		i := slices.IndexFunc(Askings, func(a Asking) bool { return a.Name == name })
		if i < 0 {
			t.Fatalf("no way of reading %q", name)
		}
		list = append(list, Askings[i])
	}
	return list
}

func parse(t *testing.T, s string) map[string]float64 {
	t.Helper()
	m := map[string]float64{}
	for _, p := range strings.Split(s, ",") {
		if name, value, ok := strings.Cut(p, "="); ok {
			x, err := strconv.ParseFloat(value, 64)
			if err != nil {
				t.Fatal(err)
			}
			m[name] = x
		}
	}
	return m
}
