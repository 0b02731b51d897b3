package logbook

// Rewrite writes entries again under another writer, in the order given: what
// a phone does with the lines that were not kept when its writer went on
// elsewhere (an old store came back, or was copied). Times, people, kinds and
// bodies stay; seq counts up from what next answers for each logbook; strikes
// of entries that are rewritten too follow them.
//
// A body that names an entry by writer and seq is opaque here and is not
// followed; the caller, who knows the kinds, must.
func Rewrite(entries [][]byte, writer ID, next func(Log) uint64) ([][]byte, error) {
	type name struct {
		log Log
		ref Ref
	}
	moved := map[name]Ref{}
	seqs := map[Log]uint64{}
	out := make([][]byte, 0, len(entries))
	for _, b := range entries {
		e, err := Decode(b)
		if err != nil {
			return nil, err
		}
		seq, ok := seqs[e.Log]
		if !ok {
			seq = next(e.Log)
		}
		seqs[e.Log] = seq + 1
		moved[name{e.Log, e.Ref()}] = Ref{writer, seq}
		if e.Origin.Seq == 0 {
			e.Origin = Origin{e.Ref(), Sum(b)}
		}
		e.Writer, e.Seq = writer, seq
		for i, s := range e.Strikes {
			if to, ok := moved[name{e.Log, s}]; ok {
				e.Strikes[i] = to
			}
		}
		out = append(out, e.Append(nil))
	}
	return out, nil
}
