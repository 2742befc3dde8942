/* The certificate of a batch, printed. */
#include "batch/batch.h"
#include "batch/batch_stats.h"
#include "papers/certificate.h"
#include "papers/print.h"
#include "papers/render_batch.h"

#include <stdlib.h>

/* Tables that can be sorted and, where they have a verdict, filtered. Without script they are tables. */
static const char sorting[] =
    "document.querySelectorAll('table').forEach(function(t){"
    "var b=t.tBodies[0],h=t.tHead;if(!b||!h||b.rows.length<2)return;"
    "var all=[].slice.call(b.rows),groups=[];"
    "all.forEach(function(r){var k=r.cells[0].textContent+r.cells[1].textContent;"
    "if(k!==''||!groups.length)groups.push([r]);else groups[groups.length-1].push(r);});"
    "[].forEach.call(h.rows[0].cells,function(c,i){"
    "var x=document.createElement('button'),up=false;while(c.firstChild)x.appendChild(c.firstChild);"
    "if(x.textContent==='')return;c.appendChild(x);"
    "x.addEventListener('click',function(){up=!up;"
    "[].forEach.call(h.rows[0].cells,function(o){o.removeAttribute('aria-sort');});"
    "c.setAttribute('aria-sort',up?'ascending':'descending');"
    "groups.sort(function(p,q){var a=p[0].cells[i].textContent,d=q[0].cells[i].textContent,"
    "m=parseFloat(a),n=parseFloat(d),z=isNaN(m)||isNaN(n)?a.localeCompare(d):m-n;return up?z:-z;});"
    "groups.forEach(function(g){g.forEach(function(r){b.appendChild(r);});});});});"
    "var v=[].map.call(h.rows[0].cells,function(c){return c.textContent;}).indexOf('verdict');if(v<0)return;"
    "var l=document.createElement('label'),s=document.createElement('select'),seen={};l.className='controls';"
    "l.textContent='show ';['all'].concat(groups.map(function(g){return g[0].cells[v].textContent;})).forEach("
    "function(w){if(w===''||seen[w])return;seen[w]=1;var o=document.createElement('option');o.textContent=w;s.appendChild(o);});"
    "l.appendChild(s);t.parentNode.parentNode.insertBefore(l,t.parentNode);"
    "s.addEventListener('change',function(){groups.forEach(function(g){var on=s.value==='all'||"
    "g[0].cells[v].textContent===s.value;g.forEach(function(r){r.hidden=!on;});});});});";

enum status render_certificate_drawn(const struct batch *batch, const struct batch_summary *summary,
                                     const struct batch_digest *digest, struct press *press,
                                     struct rendered_batch *rendered, struct faults *faults)
{
    struct arena arena = {0};
    struct document document;
    enum status status = certificate_document(batch, summary, digest->sha256, digest->of_what, &arena, &document);
    if (status != OK) {
        (void)faults_memory(faults);
    } else {
        status = press_pdf(press, &document, &rendered->pdf, &rendered->pdf_length, NULL, faults);
    }
    status =
        status == OK ? print_html_whole(&document, sorting, &rendered->html, &rendered->html_length, faults) : status;
    arena_release(&arena);
    return status;
}
