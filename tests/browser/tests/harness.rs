//! The harness itself: it sees a good page as good, and every kind of fault in a bad one.

use std::io::{BufRead, BufReader, Write};
use std::net::TcpListener;

use anyhow::{Result, ensure};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::faults;

const GOOD: &str = "<!doctype html><html lang=en><title>Good</title>
    <meta name=viewport content='width=device-width'><meta name=color-scheme content='light dark'>
    <style>input,select,button{min-height:44px}</style>
    <link rel=icon href='data:,'><main><h1>Good page</h1><form method=get action=/>
    <label>Grams <input name=grams inputmode=decimal></label>
    <label>Stock <select name=stock><option value=1>Heath</option><option value=2>Moor</option></select></label>
    <button>Weigh</button></form></main></html>";

const BAD: &str = "<!doctype html><html lang=en><title>Bad</title><link rel=icon href='data:,'>
    <main><h1>Bad page</h1><input name=grams><p style='color:#999;background:#aaa'>Pale</p>
    <div style='width:3000px'>Wide</div><img alt=x src='http://elsewhere.invalid/x.png'></main>
    <script>console.error('burnt')</script></html>";

/// Serves one page to whoever asks, for as long as the test runs.
fn serve(html: &'static str) -> Result<String> {
    let listener = TcpListener::bind("127.0.0.1:0")?;
    let base = format!("http://{}", listener.local_addr()?);
    std::thread::spawn(move || {
        for mut stream in listener.incoming().map_while(Result::ok) {
            let asked = BufReader::new(&stream).lines().map_while(Result::ok);
            asked.take_while(|line| !line.is_empty()).for_each(drop);
            let length = html.len();
            let head = "HTTP/1.1 200 OK\r\nContent-Type: text/html; charset=utf-8";
            write!(
                stream,
                "{head}\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n{html}"
            )
            .ok();
        }
    });
    Ok(base)
}

#[tokio::test]
async fn a_good_page_has_no_faults_at_any_size_or_colour() -> Result<()> {
    let base = serve(GOOD)?;
    for (screen, scheme) in [
        (Screen::Phone, Scheme::Light),
        (Screen::Desktop, Scheme::Dark),
    ] {
        with_page(&base, screen, scheme, async |page| {
            page.go("/").await?;
            let width = page.script("return innerWidth").await?;
            ensure!(width == screen.size().0, "the page is {width} wide");
            let dark = "return matchMedia('(prefers-color-scheme: dark)').matches";
            ensure!(page.script(dark).await? == (scheme == Scheme::Dark));
            page.inspect("harness-good").await?;
            page.fill("grams", "402").await?;
            page.fill("stock", "Moor").await?;
            page.press("Weigh").await?;
            page.sees("Good page").await?;
            let path = page.path().await?;
            ensure!(path == "/?grams=402&stock=2", "the form led to {path}");
            Ok(())
        })
        .await?;
    }
    Ok(())
}

#[tokio::test]
async fn every_kind_of_fault_is_seen() -> Result<()> {
    let base = serve(BAD)?;
    with_page(&base, Screen::Phone, Scheme::Light, async |page| {
        page.go("/").await?;
        let found = faults::of(page).await?.join("\n");
        for fault in [
            "critical, label",
            "serious, color-contrast",
            "burnt",
            "leaves the machine: http://elsewhere.invalid/",
            "wider than the screen",
            "too low for a thumb",
        ] {
            ensure!(found.contains(fault), "`{fault}` was not seen in:\n{found}");
        }
        Ok(())
    })
    .await
}
