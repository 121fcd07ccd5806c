//! The real thing: a listener, a client, a stop.

use crate::app::TestApp;
use tokio::net::TcpListener;

#[tokio::test]
async fn serves_and_stops_gracefully() {
    let app = TestApp::new().await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let server = tokio::spawn(rillcast::app::serve(app.state.clone(), listener, async move {
        let _ = stopped.await;
    }));
    rillcast::demo::healthcheck(address).await.unwrap();
    stop.send(()).unwrap();
    server.await.unwrap().unwrap();
    assert!(rillcast::demo::healthcheck(address).await.is_err());
}
