import sys, time, tempfile, traceback
from pathlib import Path
from collections import Counter
from tests.fuzz.mutations import case_of
from tests.fuzz.taking import outcomes, whole_load
from tests.fuzz.checks import what_is_wrong
a,b,step=map(int,sys.argv[1:4])
def one(cases):
    with tempfile.TemporaryDirectory() as d:
        return outcomes(Path(d)/'store', cases)
stat=Counter()
t=time.time();c=time.process_time()
for s in range(a,b,step):
    cases=[case_of(n) for n in range(s,min(b,s+step))]
    try:
        res=one(cases)
    except BaseException as e:
        if isinstance(e,KeyboardInterrupt): raise
        res=[]
        for k in cases:
            try: res+=one([k])
            except BaseException as e:
                if isinstance(e,KeyboardInterrupt): raise
                tb=traceback.extract_tb(e.__traceback__)
                at=[f"{f.filename.split('/')[-1]}:{f.lineno}" for f in tb if 'pipeline' in f.filename][-3:]
                print('TRACE',k.what,type(e).__name__,str(e)[:300].replace('\n',' '),at,flush=True)
    for r in res:
        stat[(r.case.sample.form,'refused' if r.refused is not None else 'loaded')]+=1
        for w in what_is_wrong(r):
            print('WRONG',r.case.what,'|',w[:700],flush=True)
print(stat,time.time()-t,time.process_time()-c)
